package finding

import (
	"slices"
	"strings"
)

// following says which findings follow from one of a code that is about the
// same: they are told in its message.
type following struct {
	cause Code
	of    []Code
	tied  tie
	when  func(cause, consequence Values) bool // nil: always
}

// What a wrong time brings about for a sample, for the checks of a leg and for a
// shift, what a wrong flow does, and what a wrong unit of the laboratory does.
var (
	ofTimes = []Code{NoRunTime, NotPositiveTime, StopBeforeStart, OutsideShift, ShiftLong, ClockDisagrees, CustodyVolume, ReportingLimitHigh}
	ofLegs  = []Code{NoPreCheck, NoPostCheck, PreUnused, PostUnused, PostOfLater, NotReverified, NotVerified, StepsDisordered, CheckFar, LegShared}
	ofTurns = []Code{CoverageLow, GapCut, GapUnused, Overlap, Worst8Differs}
	ofFlows = []Code{Drift, OffTarget, TotalOff, CustodyVolume, VolumeLow, VolumeHigh, OutOfProfile, FarFromUsual, DuplicatesDiffer,
		ReportingLimitHigh, Worst8Differs, HexavalentOver, RespirableOver, NoPostCheck, DeviceOutOfDate}
	ofUnits = []Code{OutOfProfile, FarFromUsual, ReportingLimitHigh, Loading, BalanceTooFine, BlankLarge, BlankHigh, HexavalentOver,
		RespirableOver, Breakthrough, DuplicatesDiffer, Worst8Differs, NegativeWeight, UnderLimit, FarFromHistory}
	ofNames = []Code{AnalyteMissing, BackMissing, BackWithoutFront, PartMissing, MixtureIncomplete, NoBlank}
)

// ofClock lists what follows from a wrong time.
func ofClock(causes ...Code) (all []following) {
	for _, cause := range causes {
		all = append(all, following{cause: cause, of: ofTimes, tied: bySampleOrTurn}, following{cause: cause, of: ofLegs, tied: byLeg},
			following{cause: cause, of: ofTurns, tied: byTurn})
	}
	return all
}

// followings are tried in their order.
var followings = slices.Concat([]following{
	{cause: UnknownColumn, of: []Code{NoWorker, UnknownLeg, UnknownDevice, FewReadings, NoRunTime, NoPreCheck}, tied: byColumn},
	{cause: MissingValue, of: []Code{UnknownSample}, tied: bySample},
	{cause: DuplicateID, of: []Code{UnknownSample}, tied: bySample},
	{cause: UnknownSample, of: []Code{AnalyteMissing, NoResults, BackMissing, BackWithoutFront, PartMissing}, tied: byNearest},
	{cause: LooksBlank, of: []Code{NoRunTime, NoWorker, UnknownLeg, UnderLimit}, tied: bySample},
	{cause: LooksBlank, of: []Code{FewBlanks, NoBlank, BlankLarge}, tied: byLot},
}, ofClock(OffsetMissing, StopBeforeStart, UnreadableMoment, AmbiguousMoment, ShiftLong, CheckFar), []following{
	{cause: NoPreCheck, of: []Code{PreUnused, PostUnused, StepsDisordered, NotReverified, NotVerified}, tied: byLeg},
	{cause: PreUnused, of: []Code{NoPostCheck, PostUnused, StepsDisordered, NotReverified, NotVerified}, tied: byLeg},
	{cause: StepsDisordered, of: []Code{NoPostCheck, PostUnused, NotReverified, NotVerified}, tied: byLeg},
	{cause: NoPreCheck, of: ofTurns, tied: byTurn},
	{cause: NoRunTime, of: []Code{PostUnused}, tied: byLeg},
	{cause: NoRunTime, of: ofTurns, tied: byTurn},
	{cause: OutsideShift, of: ofLegs, tied: byLeg, when: mostlyOutside},
	{cause: OutsideShift, of: ofTurns, tied: byTurn, when: mostlyOutside},
	{cause: LegsExchanged, of: append([]Code{FlowUnit}, ofFlows...), tied: bySample},
	{cause: LegsExchanged, of: ofTurns, tied: byTurn},
	{cause: FlowUnit, of: ofFlows, tied: bySample},
	{cause: FlowUnit, of: ofTurns, tied: byTurn},
	{cause: ReadingsSpread, of: []Code{Drift}, tied: bySample, when: within("drift")},
	{cause: ReadingsSpread, of: []Code{TotalOff, CustodyVolume}, tied: bySample, when: within("off")},
	{cause: UnitDiffers, of: ofUnits, tied: byResult, when: ofMass},
	{cause: UnitDiffers, of: []Code{BlankLarge}, tied: byBlank, when: ofMass},
	{cause: LimitTooLow, of: ofUnits, tied: bySample},
	{cause: ReportLimitsHigh, of: ofUnits, tied: bySample, when: unitInDoubt},
	{cause: BlankHigh, of: []Code{BlankLarge}, tied: byBlank},
	{cause: AtLimit, of: []Code{BlankLarge}, tied: byBlank},
	{cause: NameNearly, of: ofNames, tied: byName},
	{cause: CASInvalid, of: []Code{CASDiffers}, tied: byCell},
	{cause: NoBlank, of: []Code{FewBlanks}, tied: byLot, when: func(_, c Values) bool { return c["n"] == 0 }},
	{cause: LotUnlikeMedium, of: []Code{NoBlank, BlankLarge}, tied: bySample},
	{cause: WrongMedium, of: slices.Concat(ofUnits, ofNames, []Code{UnitDiffers, ResultWritten}), tied: bySample},
	{cause: WrongMedium, of: ofTurns, tied: byTurn},
})

// within reports that a figure of the consequence is no larger than a spread of
// readings can make it.
func within(figure string) func(cause, consequence Values) bool {
	return func(cause, consequence Values) bool {
		moved, known := cause["moved"].(float64)
		off, measured := consequence[figure].(float64)
		limit, _ := consequence["limit"].(float64)
		return known && measured && max(off, -off) <= moved+limit
	}
}

// mostlyOutside reports that most of a sample ran outside its shift: one of the
// two has a wrong time.
func mostlyOutside(cause, _ Values) bool {
	minutes, _ := cause["minutes"].(float64)
	total, known := cause["total"].(float64)
	return known && 2*minutes > total
}

// ofMass reports that a unit that differs is one of mass: a slip between
// concentrations and masses would not be read at all.
func ofMass(cause, _ Values) bool {
	unit, _ := cause["unit"].(string)
	return !strings.Contains(unit, "/")
}

// unitInDoubt reports that the reporting limits of a report are over the limits
// of the air themselves: its unit is likely wrong.
func unitInDoubt(cause, _ Values) bool {
	middle, known := cause["middle"].(float64)
	return known && middle > 100
}

// About says what a name stands for: for a sample its shift, worker and leg.
type About struct {
	Sample             bool
	Shift, Worker, Leg string
}

// tie reports whether a consequence is about what its cause is about.
type tie struct {
	keys func(t *told, about func(string) About) []string // what can tie
	all  bool                                             // of all the keys of the consequence
}

var (
	bySample       = tie{keys: sampleKeys, all: true}
	byLeg          = tie{keys: legKeys}
	byTurn         = tie{keys: turnKeys, all: true}
	bySampleOrTurn = tie{keys: sampleOrTurnKeys}
	byResult       = tie{keys: resultKeys}
	byLot          = tie{keys: lotKeys}
	byBlank        = tie{keys: blankKeys}
	byName         = tie{keys: nameKeys}
	byNearest      = tie{keys: nearestKeys}
	byCell         = tie{keys: func(t *told, _ func(string) About) []string { return []string{t.Place.String()} }}
	byColumn       = tie{keys: columnKeys}
)

func (t *told) names() []string { return strings.Split(t.Subject, ", ") }

// text returns a value that is a text, else "".
func (t *told) text(name string) string {
	text, _ := t.values[name].(string)
	return text
}

// sampleKeys names the samples that a finding is about, or the one whose row in
// samples could not be used.
func sampleKeys(t *told, about func(string) About) []string {
	keys := slices.DeleteFunc(t.names(), func(name string) bool { return !about(name).Sample && (name == "" || name != t.text("sample")) })
	if len(keys) == 0 && t.Table == "samples" && t.Severity == Stop {
		return t.names()[:1]
	}
	return keys
}

// legKeys names the legs that a finding is about.
func legKeys(t *told, about func(string) About) []string {
	keys := []string{t.text("leg")}
	if t.Table == "flows" && len(t.names()) > 1 {
		keys = append(keys, t.names()[0]+" "+t.names()[1])
	}
	for _, name := range t.names() {
		keys = append(keys, about(name).Leg)
	}
	return slices.DeleteFunc(keys, func(key string) bool { return strings.TrimSpace(key) == "" })
}

// turnKeys names the shifts of workers that a finding is about.
func turnKeys(t *told, about func(string) About) []string {
	keys := rowTurnKeys(t)
	for _, name := range t.names() {
		if of := about(name); of.Shift != "" {
			keys = append(keys, of.Shift+" of "+of.Worker)
		}
	}
	return keys
}

// rowTurnKeys names the shift of a worker that a finding is about by itself, not
// by its samples.
func rowTurnKeys(t *told) []string {
	var keys []string
	if names := t.names(); len(names) == 2 && (t.Table == "shifts" || t.Table == "gaps") {
		keys = append(keys, names[0]+" of "+names[1])
	}
	if shift := t.text("shift"); shift != "" {
		keys = append(keys, shift+" of "+t.text("worker"))
	}
	return keys
}

// sampleOrTurnKeys names samples, and the shift of a worker where the finding
// is about the shift itself.
func sampleOrTurnKeys(t *told, about func(string) About) []string {
	keys := rowTurnKeys(t)
	if t.Code == OutsideShift {
		keys = turnKeys(t, about) // follows from the times of the sample or of the shift
	}
	return append(keys, sampleKeys(t, about)...)
}

// resultKeys names the results that a finding is about: an analyte on a sample.
func resultKeys(t *told, about func(string) About) []string {
	var keys []string
	names := t.names()
	for _, sample := range sampleKeys(t, about) {
		for _, analyte := range names {
			if !about(analyte).Sample {
				keys = append(keys, analyte+" on "+sample)
			}
		}
	}
	return keys
}

// nearestKeys names the results that a finding is about, and for a sample that
// is not known those of the one it is most like: its results may be missing there.
func nearestKeys(t *told, about func(string) About) []string {
	nearest := t.text("nearest")
	switch {
	case t.Code == NoResults:
		return sampleKeys(t, about)
	case t.Code != UnknownSample:
		return resultKeys(t, about)
	case nearest == "":
		return nil
	}
	keys := []string{nearest}
	for _, analyte := range t.names()[1:] {
		keys = append(keys, analyte+" on "+nearest)
	}
	return keys
}

// lotKeys names the lot that a finding is about.
func lotKeys(t *told, _ func(string) About) []string {
	if lot := strings.TrimPrefix(t.text("lot"), "lot "); lot != "" {
		return []string{lot}
	}
	return nil
}

// blankKeys names the lot and the analyte that a finding is about.
func blankKeys(t *told, about func(string) About) []string {
	if lot := lotKeys(t, about); lot != nil && t.text("analyte") != "" {
		return []string{lot[0] + " " + t.text("analyte")}
	}
	return nil
}

// nameKeys names the analytes that a finding is about, with its samples where
// it has any. What a name brings about concerns it on every sample.
func nameKeys(t *told, about func(string) About) []string {
	keys := resultKeys(t, about)
	if t.Code == NameNearly {
		if len(keys) == 0 { // of another table than the laboratory's
			keys = []string{t.text("name")}
		}
		return keys
	}
	for _, name := range t.names() {
		if !about(name).Sample {
			keys = append(keys, name)
		}
	}
	return keys
}

// columnKeys names the column that a finding is about, or that an unknown one
// may be. The columns of readings count as one.
func columnKeys(t *told, _ func(string) About) []string {
	columns := t.Column
	if t.Code == UnknownColumn {
		columns = t.text("meant")
	}
	var keys []string
	for column := range strings.SplitSeq(columns, ", ") {
		if strings.HasPrefix(column, "reading") {
			column = "readings"
		}
		if column != "" {
			keys = append(keys, t.Table+" "+column)
		}
	}
	return keys
}

// trace finds for every stop and check what it follows from, if it follows
// from anything.
func trace(all []*told, about func(string) About) {
	byCode := map[Code][]*told{}
	for _, t := range all {
		if t.Severity != Note {
			byCode[t.Code] = append(byCode[t.Code], t)
		}
	}
	for _, f := range followings {
		causes := map[string][]*told{}
		for _, c := range byCode[f.cause] {
			for _, key := range f.tied.keys(c, about) {
				causes[key] = append(causes[key], c)
			}
		}
		if len(causes) == 0 {
			continue
		}
		for _, code := range f.of {
			for _, t := range byCode[code] {
				if t.into == nil {
					t.into = f.causeOf(t, causes, about)
				}
			}
		}
	}
	for _, t := range all {
		if t.into != nil {
			root := t.root()
			root.follows = append(root.follows, t)
		}
	}
}

// causeOf returns the cause that a finding follows from, nil where there is
// none.
func (f *following) causeOf(t *told, causes map[string][]*told, about func(string) About) *told {
	keys := f.tied.keys(t, about)
	for i, key := range keys {
		for _, c := range causes[key] {
			if c.root() == t || f.when != nil && !f.when(c.values, t.values) {
				continue
			}
			if !f.tied.all || among(keys, causes, c) {
				return c
			}
		}
		if f.tied.all && i == 0 {
			return nil // a cause of all has the first
		}
	}
	return nil
}

// among reports whether a cause has all the keys.
func among(keys []string, causes map[string][]*told, c *told) bool {
	return !slices.ContainsFunc(keys, func(key string) bool { return !slices.Contains(causes[key], c) })
}
