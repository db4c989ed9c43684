package finding

// What reducing a survey can find.
const (
	// settings
	UnreadableSetting Code = "unreadable-setting"
	SettingsDiffer    Code = "settings-differ"
	UnknownAuthority  Code = "unknown-authority"
	AuthorityUnlisted Code = "authority-not-listed"
	SharedSample      Code = "shared-sample-id"

	// flow and volume
	UnknownLeg       Code = "unknown-leg"
	NoPreCheck       Code = "no-pre-check"
	NoPostCheck      Code = "no-post-check"
	PostOfLater      Code = "post-of-later-deployment"
	NoConditions     Code = "no-flow-conditions"
	NoNominalFlow    Code = "no-nominal-flow"
	Drift            Code = "flow-drift"
	OffTarget        Code = "flow-off-target"
	VerifiedOff      Code = "flow-verified-off"
	FewReadings      Code = "few-readings"
	ReadingsSpread   Code = "readings-spread"
	FlowUnit         Code = "flow-unit"
	TotalOff         Code = "total-flow-off"
	NotReverified    Code = "leg-not-reread"
	NotVerified      Code = "leg-not-verified"
	DeviceOutOfDate  Code = "device-out-of-date"
	NoCertificate    Code = "device-no-certificate"
	UnknownDevice    Code = "unknown-device"
	DeviceNotNamed   Code = "device-not-named"
	NoMeterNamed     Code = "no-meter-named"
	PumpReadout      Code = "pump-readout"
	FlowUnused       Code = "flow-unused"
	PostUnused       Code = "post-check-unused"
	LegShared        Code = "leg-shared"
	Paused           Code = "pump-paused"
	ClockDisagrees   Code = "clock-disagrees"
	NoRunTime        Code = "no-run-time"
	NotPositiveTime  Code = "time-not-positive"
	VolumeLow        Code = "volume-under-minimum"
	VolumeHigh       Code = "volume-over-maximum"
	CustodyVolume    Code = "custody-volume"
	CustodyCondition Code = "custody-condition"
	BlankVolume      Code = "blank-with-volume"
	SampleVoid       Code = "sample-void"

	// the laboratory's results
	UnknownSample     Code = "unknown-sample"
	UnknownMedium     Code = "unknown-medium"
	WrongMedium       Code = "wrong-medium"
	NoResults         Code = "sample-without-results"
	AnalyteMissing    Code = "analyte-missing"
	AnalyteExtra      Code = "analyte-extra"
	LabDuplicate      Code = "duplicate-result"
	Superseded        Code = "result-superseded"
	SectionsMixed     Code = "sections-mixed"
	QuantitiesMixed   Code = "quantities-mixed"
	WeighingMissing   Code = "weighing-missing"
	WeighingNotNumber Code = "weighing-not-a-number"
	BackWithoutFront  Code = "back-without-front"
	NoReportingLimit  Code = "no-reporting-limit"
	LimitsDisagree    Code = "reporting-limits-disagree"
	UnderLimit        Code = "under-reporting-limit"
	NotAResult        Code = "not-a-result"
	NegativeWeight    Code = "negative-weight"
	NothingLeft       Code = "nothing-left"
	CorrectedAway     Code = "blank-takes-detect"
	MoreThan          Code = "result-at-least"
	Estimate          Code = "result-estimated"
	OverRange         Code = "result-over-range"
	Diluted           Code = "result-diluted"
	LabBlank          Code = "laboratory-blank"
	UnknownQualifier  Code = "unknown-qualifier"
	UnitDiffers       Code = "unit-differs"
	FarFromUsual      Code = "thousand-times-off"
	NoFilterArea      Code = "no-filter-area"
	NoLabVolume       Code = "no-laboratory-volume"
	LabConcentration  Code = "laboratory-concentration"
	NoWeightForLab    Code = "no-weight-for-laboratory"
	NoDesorption      Code = "no-desorption"
	Breakthrough      Code = "breakthrough"
	BackOverFront     Code = "breakthrough-over-front"
	Loading           Code = "filter-overloaded"
	Heaped            Code = "filter-load-implausible"
	SectionsDisagree  Code = "sections-disagree"
	HeldTooLong       Code = "held-too-long"
	AnalysedBefore    Code = "analysed-before-sampling"
	NoBlank           Code = "no-matching-blank"
	FewBlanks         Code = "few-blanks"
	BlankFound        Code = "analyte-on-blank"
	BlankLarge        Code = "blank-large"

	// derived analytes
	DerivedCircle   Code = "derived-circle"
	DerivedReported Code = "derived-reported"
	PartMissing     Code = "derived-part-missing"

	// shifts and exposures
	NoWorker         Code = "no-worker"
	UnknownWorker    Code = "unknown-worker"
	UnknownShift     Code = "unknown-shift"
	OutsideShift     Code = "sampled-outside-shift"
	TwoShifts        Code = "two-shifts-one-day"
	IdleShift        Code = "shift-without-samples"
	GapUnused        Code = "gap-unused"
	GapUnit          Code = "gap-unit"
	GapCut           Code = "gap-cut"
	Overlap          Code = "samples-overlap"
	CoverageLow      Code = "coverage-low"
	DuplicatesDiffer Code = "side-by-side"
	HexavalentOver   Code = "hexavalent-over-total"
	RespirableOver   Code = "fraction-over-total"

	// limits
	NoLimit            Code = "no-limit"
	NoNumber           Code = "no-numeric-limit"
	NameAndCAS         Code = "name-and-cas-differ"
	AsDiffers          Code = "limit-as-differs"
	ElementAsCompound  Code = "element-for-compound"
	NoWeight           Code = "no-molecular-weight"
	ReportingLimitHigh Code = "reporting-limit-high"
	Worst8Differs      Code = "worst-8-hours-differ"
	MixtureIncomplete  Code = "mixture-incomplete"
	ShortNotJudged     Code = "short-term-not-judged"
)

var reductionEntries = []Entry{
	{UnreadableSetting, Check, 0,
		"{item} reads {read}; expected {expected}; the default is used",
		"write one of what is expected, or leave the value empty for the default"},
	{SettingsDiffer, Check, 0,
		"survey {survey} has other rules than {first}; each is reduced by its own, and the settings shown are the first's",
		"give the surveys the same settings, or reduce them apart"},
	{UnknownAuthority, Check, 0,
		"authority {authority} has no limits, neither in the library nor in the limits table ({near})",
		"correct the name among the authorities, or add its limits"},
	{AuthorityUnlisted, Note, 0,
		"the limits table has limits of {authority}, which is not among the authorities of the survey ({listed}): they are compared with, and come last",
		"add {authority} to the item authorities in survey, first if its limits govern"},
	{SharedSample, Check, 0,
		"sample {sample} is also in another survey ({other}); both are kept apart",
		"give every sample an id of its own before pooling surveys"},

	{UnknownLeg, Stop, 0,
		"sample {sample} is on train {train} leg {leg}, which has no flow check (legs of that train: {legs}); it has no volume",
		"correct train and leg in samples, or add the leg's pre and post checks to flows"},
	{NoPreCheck, Stop, 0,
		"leg {leg} has no pre check at or before the start of sample {sample}; it has no volume",
		"add the morning's flow check, or correct taken_at or the sample's start"},
	{NoPostCheck, Check, 0,
		"leg {leg} has no post check after these samples; the flow is the pre check's alone",
		"add the post check if there was one; otherwise report the result as indicative"},
	{PostOfLater, Check, 0,
		"the first post check of leg {leg} after sample {sample} comes after another pre check; it may belong to a later use of the leg",
		"add the post check of this sample, or confirm that the flow was not touched in between"},
	{NoConditions, Stop, 0,
		"device {device} is a {kind} meter, so the {stage} check of leg {leg} needs {missing}; the check is not used",
		"fill in the temperature and pressure, or correct the kind of the device"},
	{NoNominalFlow, Stop, 0,
		"medium {medium} makes volumes by its nominal flow, and has none; sample {sample} has no volume",
		"fill in nominal_flow_lpm, or set volume_flow to measured"},
	{Drift, Check, 5,
		"flow of leg {leg} went from {pre} to {post} L/min, {drift} %; the limit is {limit} %; drift policy: {policy}",
		"judge the sample with the bounds shown, or void it; look for a leak, a loaded filter or a failing pump"},
	{OffTarget, Check, 5,
		"{stage} check of leg {leg} is {flow} L/min against a target of {target}, {off} % off; the tolerance is {limit} %",
		"compare the reading and the target with the field sheet; if both stand, judge the sample: {consequence}"},
	{VerifiedOff, Note, 1,
		"verified {stage} check of leg {leg} is {flow} L/min against a target of {target}, {off} % off; more than {limit} %",
		"set the leg again next time, and read the other legs once more after it"},
	{FewReadings, Check, 3,
		"{stage} check of leg {leg} has {n} reading(s); {wanted} are wanted",
		"take at least three readings; add those that were not entered"},
	{ReadingsSpread, Check, 2,
		"readings of the {stage} check of leg {leg} spread by {cv} % (CV); the limit is {limit} %",
		"look for a mistyped reading or an unsteady flow"},
	{FlowUnit, Check, 200,
		"a reading of {flow} L/min in the {stage} check of leg {leg} is {ratio} times what is expected: it looks like another unit{so}",
		"correct the unit (L/min or mL/min), the reading, or the target"},
	{TotalOff, Check, 5,
		"flow at the pump of train {train} ({stage}) is {total} L/min and its legs sum to {sum}, {off} % off; the limit is {limit} %",
		"look for a leak, an open leg or a mistyped reading"},
	{NotReverified, Check, 0,
		"leg {leg} was not read again after leg {other} was adjusted; legs on one pump act on each other",
		"add the later reading of this leg; if none was taken, treat its flow as uncertain"},
	{NotVerified, Check, 0,
		"leg {leg} was adjusted and not read again before its samples; {n} of {of} adjusted legs were: the reading of the adjustment itself makes the flow",
		"add the reading after the adjustment; if none was taken, treat the flow as uncertain"},
	{DeviceOutOfDate, Check, 12,
		"device {device}, certified {certified} and due {due}, was used on {used} for the {stage} check of leg {leg}",
		"enter the newer certificate, or have the device checked and judge the flows"},
	{NoCertificate, Note, 0,
		"device {device} ({stage} check of leg {leg}) has no certification date, or its day of use is not known",
		"fill in certified and interval_months of the device"},
	{UnknownDevice, Check, 0,
		"{stage} check of leg {leg} was read on {device}, which is not in devices; it is taken as reading actual flow",
		"add the device, or correct its name"},
	{DeviceNotNamed, Note, 0,
		"{stage} check of leg {leg} names no device",
		"fill in the device that read the flow"},
	{NoMeterNamed, Note, 0,
		"none of the {n} flow checks names the meter that read it: its uncertainty counts as 0 in the volumes, and its certificate is not looked at",
		"enter the meter in devices, with accuracy_pct and certified, and its name as device in flows"},
	{PumpReadout, Check, 0,
		"{stage} check of leg {leg} was read on the pump's own rotameter {device}, which serves for setting only",
		"calibrate with a primary or transfer standard; treat the flow as uncertain"},
	{FlowUnused, Note, 0,
		"leg {leg} has flow checks and no sample",
		"correct train and leg in samples if one belongs to it"},
	{PostUnused, Check, 0,
		"a post check of leg {leg} serves no sample: another one comes first, or it was taken before the sample stopped",
		"correct its leg, its time or the sample's stop; delete it if it repeats another"},
	{LegShared, Check, 0,
		"samples {a} and {b} ran at once on leg {leg}: one leg has one medium at a time",
		"correct the train or the leg of one of them, or their times"},
	{Paused, Note, 0,
		"sample {sample} was paused for {minutes} min; the minutes are taken off its run time",
		"nothing, if the pump stood still; the pause counts at the mean of what was sampled, unless unsampled of the shift or the survey says zero, or a row in gaps states those minutes"},
	{ClockDisagrees, Check, 2,
		"run_min of sample {sample} is {run} min and the clock gives {clock}; they are more than {limit} min apart; run_min is used",
		"correct start, stop, pause_min or run_min{hint}"},
	{NoRunTime, Stop, 0,
		"sample {sample} has neither run_min nor both start and stop; it has no volume",
		"fill in start and stop with their times, or run_min"},
	{NotPositiveTime, Stop, 0,
		"sample {sample} ran {minutes} min; it has no volume",
		"correct start, stop, pause_min or run_min"},
	{VolumeLow, Check, 0,
		"sample {sample} drew {volume} L; the method of medium {medium} asks for at least {limit} L",
		"judge whether the reporting limit reached is low enough"},
	{VolumeHigh, Check, 0,
		"sample {sample} drew {volume} L; the method of medium {medium} allows {limit} L",
		"look for overload or breakthrough before using the result"},
	{CustodyVolume, Check, 1,
		"custody form of sample {sample} says {custody} L and the final volume is {volume} L, {off} % apart; the limit is {limit} %",
		"tell the laboratory the final volume; do not use concentrations it worked out itself"},
	{CustodyCondition, Check, 0,
		"sample {sample} arrived in the condition: {condition}",
		"decide with the laboratory whether the sample stands; void it if not"},
	{BlankVolume, Check, 0,
		"blank {sample} has a custody volume of {volume} L; a blank draws no air",
		"clear the volume, or correct the kind of the sample"},
	{SampleVoid, Note, 0,
		"sample {sample} is void ({reason}); it enters no exposure",
		"nothing, if that is meant; its minutes count as unsampled"},

	{UnknownSample, Stop, 0,
		"the laboratory reports {analyte} on sample {sample}, which is not among the samples that could be used ({near}); {cells} not used",
		"correct the id, or add or mend the row in samples"},
	{UnknownMedium, Check, 0,
		"sample {sample} is on medium {medium}, which is not in media; form total and no method data are used",
		"add the medium, or correct its name"},
	{WrongMedium, Check, 0,
		"sample {sample} is on medium {medium} and has results for {analyte}, {why}",
		"compare the ids of samples and results with the laboratory's report, and the medium of the sample with the field sheet"},
	{NoResults, Check, 0,
		"sample {sample} has no laboratory result",
		"ask the laboratory for it, or void the sample with the reason"},
	{AnalyteMissing, Check, 0,
		"sample {sample} has no result for {analyte}; {n} of {of} samples on {medium} have",
		"ask the laboratory for the result; without it the minutes count as unsampled"},
	{AnalyteExtra, Note, 0,
		"sample {sample} has results for {analyte}, which none of the other {of} samples on {medium} has",
		"nothing, if it was asked for; otherwise compare sample and analyte with the laboratory's report"},
	{LabDuplicate, Stop, 0,
		"{analyte} on sample {sample} has {n} results for one section ({cells}) and no sign of which stands; neither is used",
		"keep the current result; mark a re-analysis E (over range) and D (dilution), or delete the old one"},
	{Superseded, Note, 0,
		"{analyte} on sample {sample}: {read} was over range and is superseded by the dilution {by} in row {row}",
		"nothing; both are kept in the record"},
	{SectionsMixed, Stop, 0,
		"{analyte} on sample {sample} is reported both whole and in sections; it is not used",
		"keep either the whole result, or front and back, or the weighings"},
	{QuantitiesMixed, Stop, 0,
		"{analyte} on sample {sample} is in {unit} in one row and in {other} in another; it is not used",
		"correct the unit: masses and fibres do not add"},
	{WeighingMissing, Stop, 0,
		"{analyte} on sample {sample} has one weighing without the other; it is not used",
		"add the missing pre or post weighing"},
	{WeighingNotNumber, Stop, 0,
		"{analyte} on sample {sample}: the weighing reads {read}, and a mass is wanted; it is not used",
		"enter what the filter weighed; the least gain that counts belongs in reporting_limit"},
	{BackWithoutFront, Stop, 0,
		"{analyte} on sample {sample} has a back section and no front; it is not used",
		"add the front section's result, or correct the section"},
	{NoReportingLimit, Stop, 0,
		"{analyte} on sample {sample} reads {read} with no reporting limit; it is not used",
		"fill in reporting_limit from the laboratory's report"},
	{LimitsDisagree, Check, 1,
		"{analyte} on sample {sample} reads {read} and its reporting limit is {limit} {unit}; the result's own figure is used",
		"ask the laboratory which holds, and correct the other"},
	{UnderLimit, Check, 0,
		"{analyte} on sample {sample} reads {read}, under its reporting limit of {limit} {unit}, unmarked; it is read as under the limit",
		"mark it U or <, or J if it is an estimate to be used"},
	{NotAResult, Stop, 0,
		"{analyte} on sample {sample} reads {read}: zero or negative is not a result; it is not used",
		"fill in the reporting limit, and write the result as < that limit"},
	{NegativeWeight, Check, 0,
		"{analyte} on sample {sample} gained {gain} ug between weighings: not a gain",
		"have the filter weighed again, or use the reporting limit of the balance"},
	{NothingLeft, Stop, 0,
		"{analyte} on sample {sample}: {mass} {unit} less the blank {blank} leaves nothing, and there is no reporting limit; it is not used",
		"fill in the reporting limit, and look at the blanks"},
	{CorrectedAway, Note, 0,
		"{analyte} on sample {sample}: {mass} {unit} less the blank {blank} is {left}, under the reporting limit {limit} {unit}; it is read as under the limit",
		"look at the blanks of the lot"},
	{MoreThan, Check, 0,
		"{analyte} on sample {sample} reads {read}: at least that; it has no upper bound",
		"ask the laboratory for a dilution"},
	{Estimate, Note, 0,
		"{analyte} on sample {sample} is an estimate (qualifier {letters}): {read} is used as it stands",
		"say so where the result is quoted"},
	{OverRange, Check, 0,
		"{analyte} on sample {sample} is over the calibrated range (qualifier {letters}): {read} is at least what was there",
		"ask the laboratory for a dilution"},
	{Diluted, Note, 0,
		"{analyte} on sample {sample} comes from a dilution (qualifier {letters}): {read}",
		"nothing; its reporting limit is higher for it"},
	{LabBlank, Note, 0,
		"{analyte} on sample {sample} was found in the laboratory's own blank too (qualifier {letters}); the value is unchanged",
		"look at how large the laboratory's blank was"},
	{UnknownQualifier, Note, 0,
		"{analyte} on sample {sample} carries the qualifier {letters}, which is not known here; the value {read} is unchanged",
		"read the laboratory's key to its qualifiers"},
	{UnitDiffers, Check, 0,
		"{analyte} on sample {sample} reads {read} {unit}; most of its results are in {usual}",
		"confirm the unit with the laboratory's report"},
	{FarFromUsual, Check, 300,
		"{analyte} on sample {sample} is {value} {unit}, {ratio} times the usual {usual}: it looks a thousand times off",
		"check the unit of the result and the volume"},
	{NoFilterArea, Stop, 0,
		"{analyte} on sample {sample} is in fibres/mm2 and medium {medium} has no filter_area_mm2; it is not used",
		"fill in the effective area of the filter"},
	{NoLabVolume, Stop, 0,
		"{analyte} on sample {sample} is a concentration ({unit}) without the laboratory's own volume; it is not used",
		"fill in lab_volume_l, or enter the mass"},
	{LabConcentration, Note, 0,
		"{analyte} on sample {sample}: {read} {unit} is turned back into what was on the sample by the laboratory's {volume} L, then divided by the final volume",
		"ask the laboratory for masses"},
	{NoWeightForLab, Stop, 0,
		"{analyte} on sample {sample} is in {unit} and its molecular weight is not known; it is not used",
		"give its CAS number, or a limits row with molecular_weight"},
	{NoDesorption, Stop, 0,
		"{analyte} on sample {sample} is not corrected for desorption and has no desorption efficiency; it is not used",
		"fill in desorption, or set desorption_applied to yes"},
	{Breakthrough, Check, 10,
		"{analyte} on sample {sample}: the back section holds {share} % of the front; the limit is {limit} %; the result is a lower bound",
		"sample again at a lower volume; report the result as at least"},
	{BackOverFront, Check, 0,
		"{analyte} on sample {sample}: the back section holds {share} % of the front, more than the front itself, where {limit} % is the limit; the sections may be exchanged, or a decimal misplaced; the result is a lower bound",
		"compare both sections with the laboratory's report; if they stand, sample again at a lower volume"},
	{Heaped, Check, 20,
		"{analyte} on sample {sample} is {mass} mg on the filter; over {limit} mg a filter can hardly hold it: a decimal may be misplaced",
		"compare result, weighings and unit with the laboratory's report; if they stand, judge losses from the filter"},
	{SectionsDisagree, Check, 0,
		"{analyte} on sample {sample}: {column} is {front} for the front section and {back} for the back",
		"correct one of the two: both sections come from one analysis"},
	{Loading, Check, 2,
		"{analyte} on sample {sample} is {mass} mg on the filter; over {limit} mg it may be overloaded",
		"judge losses from the filter; sample a smaller volume next time"},
	{HeldTooLong, Check, 0,
		"sample {sample} was analysed {days} days after sampling; medium {medium} allows {limit}",
		"judge whether the analyte was stable; say so in the report"},
	{AnalysedBefore, Check, 0,
		"sample {sample} was analysed {days} days after sampling: before it was taken",
		"correct the date of analysis or of sampling"},
	{NoBlank, Check, 0,
		"no field blank of {lot} has a result for {analytes} in the section wanted ({n} sample(s)); they are not corrected{near}",
		"add the field blanks' results for that section, or correct their lot"},
	{FewBlanks, Check, 2,
		"{lot} has {n} field blank(s) for {samples} sample(s); {limit} are wanted",
		"take at least two field blanks a lot; add those that were not entered"},
	{BlankFound, Note, 0,
		"{analyte} was found on field blank {sample}: {amount} {unit} (lot {lot})",
		"find out where it came from; the lot is corrected by the mean of its blanks"},
	{BlankLarge, Check, 10,
		"{analyte} on sample {sample}: the blank {blank} {unit} is {share} % of {mass} {unit}; over {limit} % the result hangs on the blank",
		"show the corrected and the uncorrected result; look at the blanks of the lot"},

	{DerivedCircle, Stop, 0,
		"derived analyte {derived} is made of itself ({path}); it is not made",
		"correct the derived table"},
	{DerivedReported, Check, 0,
		"sample {sample} has a laboratory result for {derived}, which is also derived; the laboratory's is used",
		"delete the derived rows, or give the sum another name"},
	{PartMissing, Check, 0,
		"{derived} on sample {sample} lacks {missing}: the sum of the rest is a lower bound",
		"ask the laboratory for the missing part"},

	{NoWorker, Stop, 0,
		"personal sample {sample} names no worker; it enters no exposure",
		"fill in worker, or set kind to area"},
	{UnknownWorker, Check, 0,
		"sample {sample} is on worker {worker}, who is not in workers; the group is not known",
		"add the worker, or correct the code"},
	{UnknownShift, Check, 0,
		"sample {sample} names shift {shift} of worker {worker}, which is not in shifts; by its times it is in {name}, as long as the samples or shift_min",
		"add the shift with its start and end, or correct its name"},
	{OutsideShift, Check, 0,
		"sample {sample} ran {minutes} of its {total} min outside shift {shift}; those minutes are cut off",
		"correct the times of the sample or of the shift"},
	{TwoShifts, Check, 0,
		"worker {worker} began {shifts} on {date}; for 8-hour limits they are one day, {day}",
		"nothing, if the worker did work both; otherwise correct the dates"},
	{IdleShift, Note, 0,
		"shift {shift} of worker {worker} has no sample that counts",
		"nothing, if it was not sampled"},
	{GapUnused, Check, 0,
		"a gap of shift {shift}, worker {worker}, belongs to no sampled shift or has no times; it is not used",
		"correct shift, worker, start and end of the gap"},
	{GapUnit, Check, 0,
		"a gap of shift {shift}, worker {worker}, is stated in {unit}, which {analyte} cannot take; its minutes count as unsampled for it",
		"state the gap in a unit that fits, or as zero or same"},
	{GapCut, Check, 0,
		"of a gap of {length} min in shift {shift}, worker {worker}, {used} min count: the rest was sampled, or lies outside the shift or in another gap",
		"correct start and end of the gap, or of the samples; where the pump stood still, enter those minutes as the sample's pause_min: a gap inside a sample counts as far as its pause goes"},
	{Overlap, Stop, 0,
		"samples {a} and {b} of worker {worker} in shift {shift} overlap by {minutes} min for {analyte}; no exposure is given",
		"correct the times, or mark one as duplicate or short-term"},
	{CoverageLow, Check, 70,
		"{coverage} % of shift {shift}, worker {worker}, was sampled for {analytes}, under the {limit} % asked, {so}",
		"state how unsampled time is to be taken (unsampled in shifts, or gaps with reasons)"},
	{DuplicatesDiffer, Note, 100, // % apart, from where on it is a check
		"side by side, {a} and {b} read {x} and {y} {unit} of {analyte}: {rpd} % apart; their mean is used",
		"over 25 % look for a leak or a mix-up"},
	{HexavalentOver, Check, 0,
		"{part} on {a} is at least {x} {unit} and {of} on {b} at most {y}: the part is over the whole",
		"look for swapped cassettes or labels"},
	{RespirableOver, Check, 0,
		"{form} {part} on {a} is at least {x} {unit} and {other} on {b} at most {y}: the fraction is over the whole",
		"look for swapped cassettes or labels"},

	{NoLimit, Note, 0,
		"no limit is known for {analyte} as {form} (CAS {cas}); near: {near}",
		"add a limits row, or correct the name, the CAS number or the form{cure}"},
	{NoNumber, Check, 0,
		"{authority} sets no number for {analyte}: as low as feasible; that is never a pass",
		"judge with a qualified person what is feasible"},
	{NameAndCAS, Check, 0,
		"the name {analyte} and the CAS number {cas} lead to different substances ({near}); no library limit is applied",
		"correct the name or the CAS number"},
	{AsDiffers, Check, 0,
		"the {authority} {kind} limit for {analyte} is expressed as {as}, which the results are not; it is not applied",
		"add a derived row that turns the analyte into {as}, and name the limit after it"},
	{ElementAsCompound, Check, 0,
		"{analyte} is an element and its CAS number {cas} is that of {compound}, {formula}: the results are taken as {analyte}, and the limit of {authorities} for {compound} is not applied",
		"if the masses are {analyte}, correct the CAS number and add a derived row {compound}, {analyte}, {factor}; if they are {formula}, write {compound} as the analyte"},
	{NoWeight, Stop, 0,
		"the {authority} {kind} limit for {analyte} is in ppm and no molecular weight is known; it is not applied",
		"fill in molecular_weight in limits, or the CAS number in lab"},
	{ReportingLimitHigh, Check, 10,
		"the reporting limit of {analyte} on sample {sample} is {inair} {unit} in air, {share} % of the {authority} {kind} limit; {limit} % is wanted",
		"sample a larger volume, or ask the laboratory for a lower reporting limit"},
	{Worst8Differs, Check, 0,
		"{analyte}, worker {worker}, shift {shift}: against the {authority} {kind} limit the dose over 8 hours is {twa8} and the worst 8 hours are {worst8}",
		"decide which average the authority in charge uses for long shifts"},
	{ShortNotJudged, Note, 0,
		"the {authority} {kind} limit for {analyte} is not judged for worker {worker}, shift {shift}: no short-term sample, and the shift samples allow up to {high} times the limit in {minutes} min",
		"take short-term samples at the tasks with the highest exposure"},
	{MixtureIncomplete, Check, 0,
		"mixture {mixture} on {n} sample(s): {missing} has no result or no {authority} {kind} limit; the index has no upper bound",
		"add the missing result or limit, or take the component out of the mixture"},
}
