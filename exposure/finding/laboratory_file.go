package finding

// What reading a laboratory's own file by a mapping can find. Rows that are no
// results are told of, each by its number.
const (
	LabRowsAbove        Code = "lab-rows-above"
	LabRowsSkipped      Code = "lab-rows-skipped"
	LabCellsEmpty       Code = "lab-cells-empty"
	LabSheetUnread      Code = "lab-sheet-unread"
	LabColumnNew        Code = "lab-column-new"
	LabQualifierUnknown Code = "lab-qualifier-unknown"
	LabSampleTwice      Code = "lab-sample-in-two-surveys"
	LabAnalyteNamed     Code = "lab-analyte-named"
	LabAnalyteDoubtful  Code = "lab-analyte-doubtful"
)

var laboratoryFileEntries = []Entry{
	{LabRowsAbove, Note, 0,
		"{rows}: above the headings in row {row}; not read as results",
		"nothing to do if they hold titles and addresses alone"},
	{LabRowsSkipped, Note, 0,
		"{rows} not read as results, because {why}{but}",
		"nothing to do if they are totals, notes or the laboratory's own samples; else correct what the mapping skips"},
	{LabCellsEmpty, Note, 0,
		`the cells under "{read}" are empty in {rows}: no results of it are read there`,
		"nothing to do if these were not determined; ask the laboratory if it writes nothing for a result under its reporting limit"},
	{LabSheetUnread, Note, 0,
		"sheet {read} of the laboratory's file is not read",
		"nothing to do if it holds no results; else name it, or give its headings, in the mapping"},
	{LabColumnNew, Check, 0,
		`the heading "{read}" is not in the mapping {mapping}; the column is not used`,
		`say in the mapping which column it is, or write "-" if it is not wanted`},
	{LabQualifierUnknown, Check, 0,
		`the mapping does not say what the qualifier "{read}" means ({count} rows, the first this); it is taken as in a lab table`,
		"ask the laboratory, and write its meaning under [qualifiers]"},
	{LabSampleTwice, Stop, 0,
		"sample {sample} is in the surveys {first} and {second}; which of them the result belongs to cannot be told; the row is left out",
		"reduce the surveys one by one, each with the laboratory's file"},
	{LabAnalyteNamed, Note, 0,
		"{read}{cas} is taken as {name}, as the survey calls it: they have one {by}",
		"nothing to do; write the name under [analytes] of a mapping if it is to be another"},
	{LabAnalyteDoubtful, Check, 0,
		"{read}{cas} may be {near} of the survey, but is not taken as it: neither CAS number, name nor synonym shows that they are one and no other",
		"write under [analytes] of the mapping what it is, or in the survey the name as the laboratory writes it"},
}
