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
const ()

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
}
