package reports

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"airtally/exposure"
	"airtally/exposure/survey"
)

// person is one worker that a notice can be for.
type person struct {
	code  string
	name  string                  // private; told only where two bear one code
	row   *survey.Worker          // nil where no workers table has the code
	own   []*exposure.WorkerShift // measured on this worker
	stand []*exposure.WorkerShift // measured on the worker who represents this one
	by    string                  // the code of that worker
	taken []string                // samples taken on this worker
}

// who tells workers apart: by code, and by name where several surveys give one
// code to people of different names.
type who struct{ code, name string }

// people finds the workers of a report.
type people struct {
	names map[*survey.Survey]map[string]*survey.Worker
	split map[string]bool // codes that people of different names bear
	all   map[who]*person
}

// people returns the workers that were measured or represented, by code.
func (r *Report) people() []*person {
	p := people{names: map[*survey.Survey]map[string]*survey.Worker{}, split: map[string]bool{}, all: map[who]*person{}}
	p.learn(r.Surveys)
	for i := range r.Exposures {
		w := r.Exposures[i].WorkerShift
		from, _ := w.Source()
		one := p.of(from, w.Worker)
		if !slices.Contains(one.own, w) {
			one.own = append(one.own, w)
		}
	}
	for _, s := range r.Surveys {
		for i := range s.Samples {
			if row := &s.Samples[i]; row.Kind == survey.Personal && row.Worker != "" {
				one := p.of(s, row.Worker)
				one.taken = append(one.taken, row.ID)
			}
		}
	}
	for _, s := range r.Surveys {
		p.represent(s)
	}
	return slices.SortedFunc(maps.Values(p.all), func(a, b *person) int {
		return cmp.Or(cmp.Compare(a.code, b.code), cmp.Compare(a.name, b.name))
	})
}

// learn notes the workers' rows, and the codes that stand for several people.
func (p *people) learn(surveys []*survey.Survey) {
	first := map[string]string{}
	for _, s := range surveys {
		p.names[s] = map[string]*survey.Worker{}
		for i := range s.Workers {
			w := &s.Workers[i]
			p.names[s][w.ID] = w
			name := plainly(w.Name)
			if name == "" {
				continue
			}
			if other, ok := first[w.ID]; ok && other != name {
				p.split[w.ID] = true
			}
			first[w.ID] = name
		}
	}
}

// plainly returns a name by which two spellings of it are compared.
func plainly(name string) string { return folded(strings.Join(strings.Fields(name), " ")) }

// of returns the worker whom a survey means by a code.
func (p *people) of(s *survey.Survey, code string) *person {
	row := p.names[s][code]
	key := who{code: code}
	if p.split[code] && row != nil {
		key.name = plainly(row.Name)
	}
	one := p.all[key]
	if one == nil {
		one = &person{code: code, name: key.name}
		p.all[key] = one
	}
	if row != nil && (one.row == nil || one.row.Name == "" && row.Name != "") {
		one.row = row
	}
	return one
}

// represent gives the workers of a survey whom others stand for what was
// measured on those in the same survey.
func (p *people) represent(s *survey.Survey) {
	for i := range s.Workers {
		w := &s.Workers[i]
		if w.RepresentedBy == "" || w.RepresentedBy == w.ID {
			continue
		}
		one := p.of(s, w.ID)
		one.by = w.RepresentedBy
		for _, shift := range p.of(s, w.RepresentedBy).own {
			if from, _ := shift.Source(); from == s {
				one.stand = append(one.stand, shift)
			}
		}
	}
}

// WithoutNotice says which workers were sampled or are represented, and yet
// have no result to be told of.
func (r *Report) WithoutNotice() []string {
	var all []string
	for _, p := range r.people() {
		switch {
		case len(p.own)+len(p.stand) > 0:
		case p.by != "":
			all = append(all, fmt.Sprintf("No notice for %s: represented by %s, who has no result.", printable(p.code), printable(p.by)))
		case len(p.taken) > 0:
			all = append(all, fmt.Sprintf("No notice for %s: sampled, but without a result (%s).", printable(p.code), printable(strings.Join(p.taken, ", "))))
		}
	}
	return all
}

// HasNames reports whether a survey holds private names.
func (r *Report) HasNames() bool {
	return slices.ContainsFunc(r.Surveys, func(s *survey.Survey) bool {
		return slices.ContainsFunc(s.Workers, func(w survey.Worker) bool { return w.Name != "" })
	})
}
