package survey

import (
	"time"

	"airtally/exposure/finding"
	"airtally/limits"
	"airtally/stats"
	"airtally/volume"
)

// Survey is what one workbook or folder holds: typed rows that know their
// cells. A row that could not be used is not here but among the findings.
type Survey struct {
	Path     string
	Inputs   []Input
	Beside   []string // workbooks that lie in the folder; they are mentioned, not read
	Tables   []*Table
	Items    []Item
	Devices  []Device
	Media    []Medium
	Workers  []Worker
	Shifts   []Shift
	Gaps     []Gap
	Flows    []Flow
	Samples  []Sample
	Lab      []LabRow
	Limits   []LimitRow
	Derived  []DerivedRow
	Mixtures []MixtureRow
	History  []HistoryRow
}

// Ref is the row of a table that a value came from.
type Ref struct {
	Table *Table
	Row   int32 // as a person sees it: line of a text file, row of a sheet
}

// Place returns the cell of the named column in this row, or the row alone
// where the table has no such column.
func (r Ref) Place(column string) finding.Place { return r.Table.Place(r.Row, column) }

// Text returns what stood in the named column of this row, "" where nothing did.
func (r Ref) Text(column string) string { return r.Table.Text(r.Row, column) }

// Item is one row of the survey table: a setting or a fact of the survey.
type Item struct {
	Ref
	Name  string // the item as design names it, e.g. "drift_limit_pct"
	Value string
}

// Device is a flow meter.
type Device struct {
	Ref
	ID             string
	Kind           volume.DeviceKind
	RefTemperature stats.Optional // °C, of a mass-flow meter's reference
	RefPressure    stats.Optional // kPa
	Temperature    stats.Optional // °C, of a rotameter's certificate
	Pressure       stats.Optional // kPa
	AccuracyPct    stats.Optional // % of reading
	Certified      Moment
	IntervalMonths stats.Optional
}

// Medium is what a sample is collected on, with what its method asks.
type Medium struct {
	Ref
	ID, Description, Method, Form string
	TargetFlow                    stats.Optional // L/min
	TolerancePct                  stats.Optional
	VolumeMin, VolumeMax          stats.Optional // L
	BreakthroughPct               stats.Optional
	NominalVolume                 bool           // volume_flow = nominal
	NominalFlow                   stats.Optional // L/min
	HoldingDays                   stats.Optional
	SAE                           stats.Optional // fraction
	CV                            stats.Optional // fraction
	FilterArea                    stats.Optional // mm²
}

// Worker is a person sampled, by code. Name is private.
type Worker struct {
	Ref
	ID, Group, Job, Respirator, RepresentedBy, Name string
}

// Shift is one worker's working time. Unsampled is "" where the shift states
// no policy of its own.
type Shift struct {
	Ref
	ID, Worker string
	Start, End Moment
	Unsampled  Policy
	Note       string
}

// Policy says what exposure unsampled minutes are given.
type Policy string

const (
	PolicyUnstated Policy = ""
	PolicySame     Policy = "same" // as the mean of the sampled minutes
	PolicyZero     Policy = "zero"
)

// Gap is a stretch of a shift whose exposure is stated: zero, the same as
// sampled, or a value.
type Gap struct {
	Ref
	Shift, Worker string
	Start, End    Moment
	Treat         Policy // PolicyUnstated: Value and Unit say it
	Value         float64
	Unit          limits.Unit
	Reason        string
}

// Stage is when a flow was checked.
type Stage uint8

const (
	Pre Stage = iota
	Post
)

func (s Stage) String() string { return [...]string{"pre", "post"}[s] }

// Action is what was done in a flow check.
type Action string

const (
	ActionUnstated Action = ""
	Adjusted       Action = "adjusted"
	Verified       Action = "verified"
)

// TotalLeg is the leg name of a flow measured at the pump.
const TotalLeg = "TOTAL"

// Flow is one flow check of one leg of one train.
type Flow struct {
	Ref
	Train, Leg  string
	Stage       Stage
	Readings    []volume.LitresPerMinute // as indicated, at least one
	Device      string
	TakenAt     Moment
	Step        stats.Optional
	Action      Action
	Temperature stats.Optional // °C
	Pressure    stats.Optional // kPa
}

// Kind is what a sample was taken for.
type Kind string

const (
	Personal Kind = "personal"
	Area     Kind = "area"
	Blank    Kind = "blank"
)

// Purpose is what a personal sample stands for.
type Purpose string

const (
	ShiftSample Purpose = "shift"
	ShortTerm   Purpose = "short-term"
	Ceiling     Purpose = "ceiling"
	Duplicate   Purpose = "duplicate"
)

// ShortTerm reports whether a sample was taken for a short-term limit.
func (p Purpose) ShortTerm() bool { return p == ShortTerm || p == Ceiling }

// Sample is one medium on one leg of one train for one period.
type Sample struct {
	Ref
	ID                            string
	Kind                          Kind
	Train, Leg, Medium, Lot       string
	Worker, Shift                 string
	Start, Stop                   Moment
	StopNextDay                   bool // a bare stop time before the start was taken as the next day
	Pause                         volume.Minutes
	Run                           stats.Optional // min, by the pump's timer
	Purpose                       Purpose
	TargetFlow                    stats.Optional // L/min
	Temperature, Pressure         stats.Optional // °C, kPa at the site
	CustodyVolume                 stats.Optional // L
	CustodyCondition, VoidBecause string
	MediaBlank                    bool // blank_type = media
	Void                          bool
	Note                          string
}

// Section is which part of a sample a laboratory row speaks of.
type Section uint8

const (
	Whole Section = iota
	Front
	Back
	PreWeight
	PostWeight

	Sections = iota // how many there are
)

func (s Section) String() string { return [...]string{"", "front", "back", "pre", "post"}[s] }

// ResultKind is how a laboratory's result is to be read.
type ResultKind uint8

const (
	Number   ResultKind = iota // a plain number, of either sign
	LessThan                   // "<x": Value holds x
	NotFound                   // ND, BDL and the like: no number
	MoreThan                   // ">x": Value holds x
)

// Qualifiers are the letters beside a result that change how it is read.
type Qualifiers uint8

const (
	U     Qualifiers = 1 << iota // not detected
	J                            // estimated
	E                            // over the calibrated range
	D                            // from a dilution
	B                            // found in the laboratory's blank
	Other                        // a letter kept as it is
)

// Has reports whether q holds all of x.
func (q Qualifiers) Has(x Qualifiers) bool { return q&x == x }

// Asked is what a laboratory was asked for. The rows that ask the same share
// one.
type Asked struct{ Analyte, CAS, Form, Method string }

// LabRow is one result of the laboratory. Texts that only a report quotes are
// read from the Ref.
type LabRow struct {
	Ref
	*Asked
	Sample               string
	Value                float64 // in Unit
	Kind                 ResultKind
	Section              Section
	Qualifiers           Qualifiers
	DesorptionNotApplied bool
	BlankApplied         bool
	Unit                 *LabUnit       // never nil
	ReportingLimit       stats.Optional // in Unit
	LabVolume            stats.Optional // L
	Desorption           stats.Optional // fraction
	CV                   stats.Optional // fraction
	Analysed             Moment
}

// LimitRow is a limit of the user's own.
type LimitRow struct {
	Ref
	limits.Limit
}

// DerivedRow is one part of an analyte made by summing factor × part.
type DerivedRow struct {
	Ref
	Derived, Analyte string
	Factor           float64
}

// MixtureRow is one component of a mixture with additive effect.
type MixtureRow struct {
	Ref
	Mixture, Analyte string
}

// HistoryRow is an earlier exposure to pool with a group.
type HistoryRow struct {
	Ref
	Group, Analyte, Worker string
	Date                   Moment
	Value                  stats.Interval // in Unit
	Unit                   limits.Unit
}

// Moment is a point in time as the survey gives it. Bare is a time of day
// without a date, held on day zero; DateOnly has no time of day.
type Moment struct {
	T        time.Time
	Known    bool
	Bare     bool
	DateOnly bool
	Zoned    bool // an offset was written, or the survey has a timezone
}
