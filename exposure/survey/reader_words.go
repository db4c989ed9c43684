package survey

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// choice returns one of the column's choices, "" where the cell is empty or
// holds none of them.
func (r *reader) choice(f *field) string { return r.choose(f, r.complain) }

// mustChoose is choice for columns where taking an unknown word for an empty
// cell would make another thing of the row.
func (r *reader) mustChoose(f *field) string { return r.choose(f, r.stop) }

func (r *reader) choose(f *field, fault func(*field, finding.Code, finding.Values)) string {
	text := r.filled(f)
	if text == "" {
		return ""
	}
	v, ok := f.choose(text)
	if !ok {
		values := f.values()
		fault(f, finding.UnknownChoice, finding.Values{"expected": values, "near": didYouMean(text, values)})
	}
	return v
}

// choose returns the choice that a text means.
func (c *Column) choose(text string) (value string, ok bool) {
	for _, choice := range c.Choices {
		if choice.Value == text {
			return choice.Value, true
		}
	}
	key := simplify(text)
	for _, choice := range c.Choices {
		if simplify(choice.Value) == key || slices.ContainsFunc(choice.Also, func(s string) bool { return simplify(s) == key }) {
			return choice.Value, true
		}
	}
	return "", false
}

// values returns the column's choices.
func (c *Column) values() []string {
	var out []string
	for _, choice := range c.Choices {
		out = append(out, choice.Value)
	}
	return out
}

// yes reads yes or no; a blank cell means otherwise.
func (r *reader) yes(f *field, otherwise bool) bool {
	text := r.filled(f)
	if text == "" {
		return otherwise
	}
	if yes, ok := parseYes(text); ok {
		return yes
	}
	values := []string{"yes", "no"}
	r.complain(f, finding.UnknownChoice, finding.Values{"expected": values, "near": didYouMean(text, values)})
	return otherwise
}

func parseYes(text string) (yes, ok bool) {
	switch strings.ToLower(text) {
	case "yes", "y", "true", "1", "x":
		return true, true
	case "no", "n", "false", "0":
		return false, true
	}
	return false, false
}

// moment reads a date, a time of day, or both.
func (r *reader) moment(f *field) Moment {
	c := r.cell(f)
	if c == nil || c.text == "" {
		return Moment{}
	}
	if c.kind == textKind && c.text == r.lastMoment {
		return r.lastMomentRead
	}
	if r.filled(f) == "" {
		return Moment{}
	}
	m, t, ok := Moment{}, noTrouble, false
	switch c.kind {
	case textKind:
		m, t, ok = r.clock.parse(c.text)
	case dateKind, timeKind:
		m, t, ok = r.clock.serial(c.number, c.kind == timeKind)
	}
	if !ok {
		r.complain(f, finding.UnreadableMoment, finding.Values{"twelve": twelveHours(c.text)})
		return Moment{}
	}
	if t != noTrouble {
		r.list.Add(clockCode(t), r.Table.Place(r.row, f.Name), r.subject(), clockValues(f.Name, r.text(f), m))
	} else if c.kind == textKind {
		r.lastMoment, r.lastMomentRead = c.text, m
	}
	return m
}

// twelveHours says that AM and PM are not read where a text ends in one, ""
// elsewhere.
func twelveHours(text string) string {
	end := simplify(text)
	if len(end) > 2 && (strings.HasSuffix(end, "am") || strings.HasSuffix(end, "pm")) {
		return ": times with AM and PM are not read"
	}
	return ""
}

func clockCode(t trouble) finding.Code {
	if t == skipped {
		return finding.ClockSkipped
	}
	return finding.ClockTwice
}

func clockValues(column, read string, m Moment) finding.Values {
	return finding.Values{"column": column, "read": read, "zone": m.T.Location().String(), "value": m.T.Format("2006-01-02T15:04Z07:00")}
}
