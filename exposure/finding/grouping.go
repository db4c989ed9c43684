package finding

// What judging the groups of a plain list can find.
const (
	MixedUnits      Code = "mixed-units"
	UnitUnlike      Code = "unit-unlike-limit"
	NoEstimates     Code = "no-estimates"
	GroupRefused    Code = "group-refused"
	SameWorkerDay   Code = "same-worker-and-day"
	GroupsSpellings Code = "group-spelled-two-ways"
)

// What gathering the groups of surveys, with their history, can find.
const (
	NoGroup        Code = "worker-without-group"
	HistoryUnused  Code = "history-unused"
	HistoryForm    Code = "history-form"
	HistoryLeftOut Code = "history-left-out"
)

var groupingEntries = []Entry{
	{MixedUnits, Stop, 0,
		"{group} has values in {units}; the group is left out",
		"write all values of one group in one unit"},
	{UnitUnlike, Stop, 0,
		"{group} is in {unit} and the limit in {limit}, and neither can be turned into the other; the group is left out",
		"give the limit in {unit} with --unit, or convert the values"},
	{NoEstimates, Check, 0,
		"{group}: no geometric mean, spread or percentile can be estimated, because {reason}",
		"read under the group what can be said without them; more shifts, or a lower reporting limit, would give estimates"},
	{GroupRefused, Stop, 0,
		"{group} is left out: {reason}",
		"look at the values of the group"},
	{SameWorkerDay, Check, 0,
		"{group}: worker {worker} has {count} exposures on {date}; each counts as a shift of its own",
		"average samples taken side by side into one row, and leave out short-term samples"},
	{GroupsSpellings, Check, 0,
		`"{first}" and "{second}" are judged as two groups`,
		"if they are one group, write its name in one way"},
	{NoGroup, Note, 0,
		"worker {worker} is in no group; the exposures count in no group's statistics",
		"name the group in workers, if the worker belongs to one"},
	{HistoryUnused, Check, 0,
		"{n} earlier exposures of group {group} to {analyte} are not used: {reason}",
		"write group and analyte as in workers and in the laboratory's results, or take the rows out"},
	{HistoryForm, Note, 0,
		"{n} earlier exposures of group {group} to {analyte} are taken as {form}: {reason}",
		"take the rows out, if they were of another form"},
	{HistoryLeftOut, Stop, 0,
		"the exposure of worker {worker} on {date}, group {group}, {analyte}, is left out of the statistics against {limits}",
		"read the reason under excluded in the groups: correct the unit or the value, or take out what the survey has already"},
}
