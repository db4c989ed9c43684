package survey

import (
	"regexp"
	"slices"
	"strings"

	"airtally/exposure/finding"
)

// wanted are the columns, beside the required ones, whose absence changes
// numbers: an unknown header may be theirs under another name.
var wanted = map[string][]string{
	"devices": {"kind", "certified"},
	"media":   {"method", "form", "target_flow_lpm"},
	"workers": {"group"},
	"shifts":  {"start", "end"},
	"gaps":    {"treat"},
	"flows":   {"unit", "device", "taken_at"},
	"samples": {"train", "leg", "medium", "lot", "worker", "shift", "start", "stop"},
	"lab":     {"unit", "reporting_limit"},
	"limits":  {"unit", "cas"},
}

// shortWord is up to how many letters a column's name within a header is taken
// for chance.
const shortWord = 3

// mentionColumn tells of a column that is not known. It is a check where the
// column may be one that the table lacks: by its name, by its cells, or because
// one is lacking that is wanted.
func (t *Table) mentionColumn(at int, list *finding.List) {
	header, missing := t.headers[at], t.missing()
	meant := nearest(header, missing)
	for _, name := range missing {
		if meant != "" {
			break
		}
		c, _ := t.description.Column(name)
		within := len(simplify(name)) > shortWord && strings.Contains(simplify(header), simplify(name))
		if within || t.fits(at, c) || slices.Contains(wanted[t.Name], name) {
			meant = name
		}
	}
	if meant == "" && saysNothing(header) && len(missing) > 0 {
		meant = strings.Join(missing, ", ")
	}
	severity, near := finding.Note, ""
	if meant != "" {
		severity, near = finding.Check, "; the table has no column "+meant
		if meant == nearest(header, missing) {
			near = didYouMean(header, missing)
		}
	}
	list.AddAs(severity, finding.UnknownColumn, t.headerPlace(at, header), nil, finding.Values{
		"read": header, "table": t.Name, "near": near, "meant": meant})
}

// numbered are headers that programs and people give to columns without one.
var numbered = regexp.MustCompile(`(?i)^(column|spalte|colonne|columna|col|field|unnamed:?|f)?[ _]*[0-9]*$`)

// saysNothing reports whether a header is a mere number or letter of a column.
func saysNothing(header string) bool { return numbered.MatchString(strings.TrimSpace(header)) }

// fits reports whether all cells of a column are choices of another, and there
// are some.
func (t *Table) fits(at int, c *Column) bool {
	if len(c.Choices) == 0 {
		return false
	}
	filled := false
	for _, row := range t.body[:min(len(t.body), mostFitted)] {
		text := textAt(t.grid.read(row, nil), at)
		if _, known := c.choose(text); text != "" && !known {
			return false
		}
		filled = filled || text != ""
	}
	return filled
}

// mostFitted is how many rows tell what a column holds.
const mostFitted = 1000
