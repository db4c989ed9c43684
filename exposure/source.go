package exposure

import "airtally/exposure/survey"

// Source returns the survey that a worker-shift comes from and the settings it
// was reduced by; nil where it comes from none.
func (w *WorkerShift) Source() (*survey.Survey, *Settings) {
	if w.of == nil {
		return nil, nil
	}
	return w.of.survey, &w.of.settings
}
