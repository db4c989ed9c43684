package finding

// What setting the rows of a survey beside each other can find: slips of the
// pen that leave every row readable. The thresholds are common practice, no
// source, where their entry names none.
const (
	ReadingWritten   Code = "reading-written-unlike"
	ResultWritten    Code = "result-written-unlike"
	OutOfProfile     Code = "out-of-profile"
	FarFromHistory   Code = "far-from-history"
	AtLimit          Code = "at-reporting-limit"
	BackMissing      Code = "back-missing"
	CASDiffers       Code = "cas-differs"
	ReportLimitsHigh Code = "reporting-limits-high"
	LimitTooLow      Code = "reporting-limit-too-low"
	BalanceTooFine   Code = "balance-too-fine"
	BlankHigh        Code = "blank-high"
	PauseShort       Code = "pause-short"
	PreUnused        Code = "pre-check-unused"
	StepsDisordered  Code = "flow-steps-disordered"
	CheckFar         Code = "flow-check-far"
	ShiftLong        Code = "shift-long"
	BlankUnused      Code = "blank-without-samples"
	NameNearly       Code = "name-nearly-another"
	OffsetMissing    Code = "offset-missing"
	LegsExchanged    Code = "legs-exchanged"
	LooksBlank       Code = "sample-looks-blank"
	LotUnlikeMedium  Code = "lot-of-another-medium"
	VoidLooksMoved   Code = "void-looks-misplaced"
	LimitUnused      Code = "limit-unused"
)

var plausibilityEntries = []Entry{
	{ReadingWritten, Check, 12,
		`{stage} check of leg {leg} reads {read}, with {n} decimals; the other {of} readings like it ({limit} or more are asked) have {usual}`,
		"look for a digit that was dropped or typed twice"},
	{ResultWritten, Check, 5,
		"{analyte} on sample {sample} reads {read}, with {n} {what}; the other {of} results like it ({limit} or more are asked) have {usual}",
		"compare with the laboratory's report: a digit may be missing or stand twice"},
	{OutOfProfile, Check, 6,
		"{analyte} on sample {sample} is {ratio} times what its other results and those of {others} lead one to expect; the limit is {limit} times either way",
		"compare result, unit and sample with the laboratory's report: a decimal, a digit or a row may be misplaced"},
	{FarFromHistory, Check, 30,
		"{analyte} in group {group}: the {n} results of this survey are about {ratio} times those of the history table; the limit is {limit} times either way",
		"check the unit of the laboratory's report and of the history"},
	{AtLimit, Check, 0,
		"{analyte} on sample {sample} reads {read}, just its reporting limit of {limit} {unit}, unmarked; it is read as found",
		"if it was not found, write <{read} or mark it U: the sign may have been lost"},
	{BackMissing, Check, 0,
		"{analyte} on sample {sample} has a front section and no back; {n} of {of} fronts on {medium} have one",
		"add the back section's result: without it breakthrough cannot be judged"},
	{CASDiffers, Check, 0,
		"{analyte} has the CAS number {read} in {n} row(s) and {usual} in {of}",
		"correct the CAS number, or the analyte, from the laboratory's report"},
	{ReportLimitsHigh, Check, 10,
		"{n} reporting limits of report {report} are in the air sampled over {limit} % of a limit; the worst is that of {analyte} on sample {sample}: {inair} {unit}, {share} % of the {authority} {kind} limit",
		"check the unit of the report; otherwise ask for a lower reporting limit or sample more air"},
	{LimitTooLow, Check, 1e-5,
		"the reporting limits of report {report} are, in the air sampled, {share} of a limit in the middle of {n} results; under {limit} they look a thousand times too low",
		"check the unit of the report"},
	{BalanceTooFine, Check, 1,
		"{n} weighed results of report {report} have reporting limits down to {low} ug; no balance tells {limit} ug",
		"check the unit of the report"},
	{BlankHigh, Check, 2,
		"{analyte} on field blank {sample} is {amount} {unit}, {ratio} times its reporting limit; over {limit} times it may be a sample, or the lot is not clean",
		"compare the ids of blanks and samples with the laboratory's report, then look for what got into the blanks"},
	{PauseShort, Check, 3,
		"sample {sample} was paused for {minutes} min; under {limit} min it looks like hours",
		"write the pause in minutes; leave it empty if there was none"},
	{PreUnused, Check, 0,
		"a pre check of leg {leg} was taken after every sample of the leg began ({taken}); it serves none",
		"correct its stage, its time or the samples' start"},
	{StepsDisordered, Check, 0,
		"{stage} checks of train {train}: step {later} was taken at {laterat}, before step {earlier} at {earlierat}",
		"correct taken_at or step of one of them"},
	{CheckFar, Check, 7,
		"the {stage} check of leg {leg} was taken {days} days from the nearest sample of the leg; the limit is {limit}",
		"correct the date of the check, or check the flow nearer to the sampling"},
	{ShiftLong, Check, 24,
		"{what} lasts {hours} h; over {limit} h a date is likely wrong",
		"correct the date of the start or of the end"},
	{BlankUnused, Check, 0,
		"blank {sample} is of {lot}, medium {medium}, and no sample is{near}",
		"correct lot and medium of the blank; it corrects no sample as it stands"},
	{NameNearly, Check, 0,
		"{table} names {name}, {why}",
		"write the analyte as the laboratory does, if it is the same"},
	{OffsetMissing, Check, 0,
		"{column} {read} has no offset from UTC, other times of the survey have one, and no timezone is stated; it is taken as UTC",
		"write the offset, as in 2026-03-02 22:10 -05:00, or state the timezone in the survey table"},
	{LegsExchanged, Check, 0,
		"{stages} of legs {a} and {b} look exchanged: {a} reads {flowa} L/min against a target of {targeta}, {b} {flowb} against {targetb}{so}",
		"correct the leg in flows or in samples"},
	{LooksBlank, Check, 0,
		"sample {sample} is {kind} and has no train, no times and no worker: it looks like a field blank",
		"correct its kind, or fill in train, leg, times and worker"},
	{LotUnlikeMedium, Check, 0,
		"sample {sample} on medium {medium} is of lot {lot}; the {n} others of that lot are on {other}, and the {of} others on {medium} are of other lots",
		"correct the lot or the medium from the field sheet: the lot decides which blanks correct the sample"},
	{VoidLooksMoved, Check, 0,
		"sample {sample} is void for the reason {read}, which is a word of the column {column}: the cell may have slipped",
		"write the reason in words, or clear it if the sample is not void"},
	{LimitUnused, Check, 0,
		"the limits of {authority} for {analyte} meet no result, and the library does not know the name; {n} of {of} rows of limits meet one",
		"write the analyte as the laboratory does; take the row out if nothing of it was sampled"},
}
