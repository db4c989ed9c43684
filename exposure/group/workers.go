package group

import (
	"airtally/stats"
)

// worker is the shifts of one worker of a group.
type worker struct {
	name   string
	shifts []Shift
}

// workers returns the workers that are named, in the order of the shifts.
func (j *judging) workers() []worker {
	at := map[string]int{}
	var out []worker
	for _, s := range j.shifts {
		if s.Worker == "" {
			continue
		}
		i, known := at[s.Worker]
		if !known {
			i = len(out)
			at[s.Worker] = i
			out = append(out, worker{name: s.Worker})
		}
		out[i].shifts = append(out[i].shifts, s)
	}
	return out
}

// betweenWorkers fills in what tells the workers apart, where there are two or
// more and one has several shifts. Shifts without a worker stay out of it.
func (j *judging) betweenWorkers() {
	people := j.workers()
	if len(people) < 2 || j.Method == None {
		return
	}
	variance, err := j.workerVariance(people)
	if err != nil {
		return
	}
	j.Between = &Between{WorkerVariance: variance, Share: variance.Share()}
	if j.Method != Exact {
		return
	}
	if apart, found := stats.StandsApart(valuesOf(people), 0.05); found {
		j.remarks = append(j.remarks, apartSentence(people[apart.Worker], apart))
	}
}

// workersOver fills in how the workers stand to the limit.
func (j *judging) workersOver() {
	if j.Between == nil {
		return
	}
	b := *j.Between
	b.GroupExceedance = finite(b.WorkerVariance.GroupExceedance(j.Limit))
	b.Worker = finite(b.WorkerExceedance(j.Limit, judgedExceedance))
	j.Between = &b
}

func (j *judging) workerVariance(people []worker) (stats.WorkerVariance, error) {
	if j.Method == Exact {
		return stats.EstimateWorkerVariance(valuesOf(people))
	}
	exposures := make([][]stats.Interval, len(people))
	for i, p := range people {
		for _, s := range p.shifts {
			exposures[i] = append(exposures[i], s.Exposure)
		}
	}
	return stats.EstimateCensoredWorkerVariance(exposures)
}

func valuesOf(people []worker) [][]float64 {
	values := make([][]float64, len(people))
	for i, p := range people {
		for _, s := range p.shifts {
			values[i] = append(values[i], s.Exposure.High)
		}
	}
	return values
}
