package survey

import "slices"

// Type is how the cells of a column are to be read.
type Type uint8

const (
	TextCell     Type = iota // any text, kept as the cell shows it
	IDCell                   // an identifier, kept as the cell shows it
	NumberCell               // a number in the column's unit
	FractionCell             // a fraction of 1, which may be written in percent
	ReadingsCell             // numbers with ";" between them
	ResultCell               // a number with or without "<", or ND
	MomentCell               // a date, a time of day, or both
	ChoiceCell               // one of the column's choices
	YesNoCell                // yes or no
	UnitCell                 // the unit of the row's numbers
	ItemCell                 // the value of a survey item, as the item's own type
)

// Column describes one column of an input table.
type Column struct {
	Name       string
	Type       Type
	Unit       string // of a NumberCell: "L/min", "L", "min", "°C", "kPa", "mm²", "%", ...
	UnitColumn string // the column that holds the unit of this one's numbers
	Required   bool
	Range      Range
	Choices    []Choice
	Suggested  []string // usual values; others are as good
	Refers     string   // the table whose rows it names, by their first column
	DateOnly   bool     // of a MomentCell: a day, without a time
	Default    string   // what a blank cell means, where it means anything
	Synonyms   []string
	Help       string // what the column holds, in a few words
	Advice     string // what else a person who fills it in should know, in sentences
}

// Choice is one allowed value with the other spellings that mean it.
type Choice struct {
	Value string
	Also  []string
}

// Range bounds a number. The zero Range allows any.
type Range struct {
	Limited   bool
	Low, High float64
	OverLow   bool // Low itself is not allowed
}

// Description describes one input table.
type Description struct {
	Name     string
	Required bool
	Synonyms []string
	Help     string
	Subject  []string // columns that name what a row is about
	Unique   bool     // no two rows may have the same subject
	Columns  []Column
}

// Column returns the column of that name.
func (d *Description) Column(name string) (*Column, bool) {
	i := slices.IndexFunc(d.Columns, func(c Column) bool { return c.Name == name })
	if i < 0 {
		return nil, false
	}
	return &d.Columns[i], true
}

// required returns the names of the columns that the table must have.
func (d *Description) required() []string {
	var names []string
	for i := range d.Columns {
		if d.Columns[i].Required {
			names = append(names, d.Columns[i].Name)
		}
	}
	return names
}

// Descriptions returns the input tables in the order a person fills them in.
func Descriptions() []*Description { return descriptions }

// Describe returns the description of the table of that name, nil where there
// is none.
func Describe(name string) *Description {
	i := slices.IndexFunc(descriptions, func(d *Description) bool { return d.Name == name })
	if i < 0 {
		return nil
	}
	return descriptions[i]
}

// ItemDescription describes one item of the survey table by the column it
// would be: its type, choices, range, default and help.
type ItemDescription = Column

// Items returns the items that the survey table knows.
func Items() []ItemDescription { return items }

var (
	overZero    = Range{Limited: true, High: 1e12, OverLow: true}
	zeroOrMore  = Range{Limited: true, High: 1e12}
	percent     = Range{Limited: true, High: 100}
	temperature = Range{Limited: true, Low: -60, High: 80}
	pressure    = Range{Limited: true, Low: 30, High: 120}
)

func choices(values ...string) []Choice {
	out := make([]Choice, len(values))
	for i, v := range values {
		out[i].Value = v
	}
	return out
}

var items = []ItemDescription{
	{Name: "title", Help: "title of the report"},
	{Name: "site", Help: "where the work was done"},
	{Name: "client", Help: "for whom the survey was done"},
	{Name: "prepared_by", Help: "who wrote the report"},
	{Name: "reviewed_by", Help: "who reviewed it"},
	{Name: "report_number", Type: IDCell, Help: "number of the report"},
	{Name: "results_received", Type: MomentCell, DateOnly: true, Help: "date the laboratory's results came in",
		Advice: "The days in which workers must be told are counted from it. Leave it blank until they came."},
	{Name: "determined_on", Type: MomentCell, DateOnly: true, Help: "date the exposures were determined",
		Advice: "Some standards count from it in place of the day the results came. Leave it blank until then."},
	{Name: "authorities", Default: "OSHA, NIOSH", Help: "whose limits to compare with, with commas between; the first governs",
		Advice: "The authority of a limit of your own, in the sheet limits, belongs here too: first, as in Client, OSHA, NIOSH, if it is to govern."},
	{Name: "sector", Type: ChoiceCell, Choices: choices("general", "construction", "maritime"), Default: "general", Help: "which federal rules apply"},
	{Name: "shift_min", Type: NumberCell, Unit: "min", Range: Range{Limited: true, High: 2880, OverLow: true}, Default: "480", Help: "length of a shift that has no row in shifts"},
	{Name: "unsampled", Type: ChoiceCell, Choices: choices("same", "zero"), Default: "same", Help: "exposure in minutes nobody sampled",
		Advice: "same: as in the minutes sampled. A row in shifts decides for its shift, a row in gaps for its minutes."},
	{Name: "nondetect", Type: ChoiceCell, Choices: choices("half", "root2", "zero", "full"), Default: "half", Help: "value that stands for a result under the reporting limit",
		Advice: "half of the limit, the limit over the square root of 2, zero, or the limit in full."},
	{Name: "min_coverage_pct", Type: NumberCell, Unit: "%", Range: percent, Default: "70", Help: "share of a shift that must be sampled for a result below a limit"},
	{Name: "drift_limit_pct", Type: NumberCell, Unit: "%", Range: percent, Default: "5", Help: "largest change of flow between the checks"},
	{Name: "drift_policy", Type: ChoiceCell, Choices: choices("mean", "lower", "void"), Default: "mean", Help: "value of a sample that drifted further",
		Advice: "mean: by the mean of both flows. lower: by the lower. void: none."},
	{Name: "target_tolerance_pct", Type: NumberCell, Unit: "%", Range: percent, Default: "5", Help: "largest distance of a flow check from its target"},
	{Name: "verify_tolerance_pct", Type: NumberCell, Unit: "%", Range: percent, Default: "1", Help: "distance from target at which a verified check is noted"},
	{Name: "blank_correction", Type: ChoiceCell, Choices: choices("mean", "none"), Default: "mean", Help: "whether the mean of the field blanks is taken off"},
	{Name: "ppm_basis", Type: ChoiceCell, Choices: choices("ntp", "site"), Default: "ntp", Help: "air that ppm are stated for: 25 °C and 760 mmHg, or the site's"},
	{Name: "molar_volume", Type: NumberCell, Unit: "L/mol", Range: Range{Limited: true, Low: 20, High: 30}, Default: "24.45", Help: "litres per mole at 25 °C and 760 mmHg"},
	{Name: "timezone", Type: IDCell, Synonyms: []string{"time zone", "tz"}, Help: "zone of the clock times, such as America/Chicago",
		Advice: "Needed only if clocks were changed during a sample."},
	{Name: "holidays", Help: "dates that are no working days, with commas between", Advice: "Periods in working days leave them out."},
}
