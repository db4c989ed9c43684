package finding

// What reading the input tables can find. A severity of Stop here is that of
// a value without which the row cannot stand; for other values the reader
// raises the same code as Check. {then} says which.
const (
	UnreadableNumber    Code = "unreadable-number"
	AmbiguousNumber     Code = "ambiguous-number"
	ThousandsAssumed    Code = "thousands-assumed"
	OutOfRange          Code = "out-of-range"
	LooksLikePercent    Code = "looks-like-percent"
	PercentConverted    Code = "percent-converted"
	MissingValue        Code = "missing-value"
	UnknownChoice       Code = "unknown-choice"
	UnreadableResult    Code = "unreadable-result"
	UnreadableUnit      Code = "unreadable-unit"
	UnitConflict        Code = "unit-conflict"
	UnreadableMoment    Code = "unreadable-date"
	AmbiguousMoment     Code = "ambiguous-date"
	DateOrderDecided    Code = "date-order"
	DatesMixed          Code = "dates-mixed"
	DateAsNumber        Code = "date-as-number"
	ClockSkipped        Code = "clock-time-skipped"
	ClockTwice          Code = "clock-time-twice"
	BareTime            Code = "time-without-date"
	StopNextDay         Code = "stop-next-day"
	StopBeforeStart     Code = "stop-before-start"
	DuplicateID         Code = "duplicate-id"
	ErrorCell           Code = "error-cell"
	FormulaWithoutValue Code = "formula-without-value"
	DateAsIdentifier    Code = "date-as-identifier"
	IdentifierMangled   Code = "identifier-mangled"
	CharactersFolded    Code = "characters-folded"
	CASRepaired         Code = "cas-repaired"
	CASInvalid          Code = "cas-invalid"
	UnknownTable        Code = "unknown-table"
	DuplicateTable      Code = "duplicate-table"
	HiddenSheet         Code = "hidden-sheet"
	HiddenRows          Code = "hidden-rows"
	HiddenColumn        Code = "hidden-column"
	ExampleRows         Code = "example-rows"
	IncompleteTable     Code = "incomplete-table"
	MissingColumn       Code = "missing-column"
	EmptyTable          Code = "empty-table"
	UnknownColumn       Code = "unknown-column"
	UnnamedColumn       Code = "unnamed-column"
	DuplicateColumn     Code = "duplicate-column"
	HeaderConverted     Code = "header-converted"
	HeaderRefused       Code = "header-unit-refused"
	LongRow             Code = "long-row"
	ShortRows           Code = "short-rows"
	StrayQuote          Code = "stray-quote"
	EncodingGuessed     Code = "encoding-guessed"
	RowsAboveHeader     Code = "rows-above-header"
	TwoHeaderRows       Code = "two-header-rows"
	UnitRow             Code = "unit-row"
	HeaderRepeated      Code = "header-repeated"
	SummaryRow          Code = "summary-row"
	RemarkRow           Code = "remark-row"
	UnknownItem         Code = "unknown-item"
	UnknownTimezone     Code = "unknown-timezone"
	ZeroResult          Code = "zero-result"
	NonDetectBare       Code = "non-detect-without-limit"
	BoundsDisagree      Code = "bounds-disagree"
	NoGroupColumn       Code = "no-group-column"
)

var readingEntries = []Entry{
	{UnreadableNumber, Stop, 0,
		`{column} "{read}" is not a number; expected {expected}; {then}`,
		"write the number plainly, such as {example}"},
	{AmbiguousNumber, Stop, 0,
		`{column} "{read}" can be read as two numbers, {first} or {second}; the column does not tell which is meant; {then}`,
		"write it without a sign between thousands, as {first} or {second}"},
	{ThousandsAssumed, Note, 0,
		`{column} "{read}" is read as {value}: nothing in the table shows a decimal comma`,
		"if a decimal comma is meant, write the number with a point"},
	{OutOfRange, Stop, 0,
		`{column} "{read}" cannot be; expected {expected}; {then}`,
		"correct the number or its unit, or leave the cell empty if it is not known"},
	{LooksLikePercent, Stop, 0,
		`{column} "{read}" looks like a percentage; expected a fraction, {expected}; {then}`,
		"write it as a fraction such as 0.07, or with its sign, as 7 %"},
	{PercentConverted, Note, 0,
		`{column} "{read}" is taken as the fraction {value}`,
		"nothing to do if it is a percentage; write {value} to be plain"},
	{MissingValue, Stop, 0,
		"{column} is empty; expected {expected}; {then}",
		"fill in the cell, or delete the row if it is not wanted"},
	{UnknownChoice, Stop, 0,
		`{column} "{read}" is not one of {expected}{near}; {then}`,
		"write one of {expected}"},
	{UnreadableResult, Stop, 0,
		`{column} "{read}" is not a result; expected a number, a number after < or >, or ND; {then}`,
		"write the number alone, such as 1.29 or <0.06, with letters in the qualifier column"},
	{UnreadableUnit, Stop, 0,
		`{column} "{read}" is not a known unit; expected {expected}; {then}`,
		"write one of the units expected, and convert the numbers if need be"},
	{UnitConflict, Stop, 0,
		`{column} says "{read}" but the row's unit is {expected}; {then}`,
		"give one unit for the row"},
	{UnreadableMoment, Stop, 0,
		`{column} "{read}" is not a date or time that can be read in one way only{hint}; expected one such as 2026-03-02 22:10; {then}`,
		"write it as yyyy-mm-dd hh:mm, with the time of 24 hours, or use a real date cell"},
	{AmbiguousMoment, Stop, 0,
		`{column} "{read}" can be read in two ways, {ways}; {then}; so in {count} row(s)`,
		"write it as yyyy-mm-dd hh:mm, with the time of 24 hours, or use real date cells"},
	{DateOrderDecided, Note, 0,
		`the dates of {column} are read as {order}, for "{proof}" in {from} can be read in no other order`,
		"nothing to do if all dates are written so; write year-month-day to be plain"},
	{DatesMixed, Check, 0,
		`{column} holds {count} real dates beside dates as text, which are written {order} ("{proof}" in {from}); no real date has a day over 12, so a spreadsheet may have swapped day and month in them`,
		"compare the real dates with their source; give all dates as year-month-day"},
	{DateAsNumber, Check, 0,
		`{column} "{read}" is a number; it is taken as the spreadsheet's number for {value}; so in {count} row(s)`,
		"show the column as dates, or write them as year-month-day"},
	{ClockSkipped, Check, 0,
		"{column} {read} does not exist in {zone}: the clocks were put on that night; it is taken in the time before the change, as {value}",
		"write the time with its offset, such as {value}"},
	{ClockTwice, Check, 0,
		"{column} {read} comes twice in {zone}: the clocks were put back that night; it is taken as the first, {value}",
		"write the time with its offset, such as {value}"},
	{BareTime, Check, 0,
		"{column} {read} has no date, and {reason}; the time is not used",
		"write the date too, such as 2026-03-02 {read}"},
	{StopNextDay, Note, 0,
		"{column} {read} is before the start at {start}, so it is taken as the next day, {value}",
		"nothing to do if work went on past midnight; write the date to be plain"},
	{StopBeforeStart, Stop, 0,
		"{column} {read} is not after the start at {start}; {consequence}",
		"correct the start or the stop"},
	{DuplicateID, Stop, 0,
		"{table} {read} stands in rows {first} and {second}; {consequence}",
		"give each its own name, or delete the row that is wrong"},
	{ErrorCell, Stop, 0,
		"{column} holds the error {read}; {then}",
		"mend the formula, or type the value"},
	{FormulaWithoutValue, Stop, 0,
		"{column} holds a formula whose value the file does not contain; {then}",
		"open the workbook in a spreadsheet, let it calculate, and save it, or type the value"},
	{DateAsIdentifier, Check, 0,
		"{column} {read} is a date cell: a spreadsheet may have made a date of an identifier such as 3-2",
		"format the column as text and type the identifier again"},
	{IdentifierMangled, Check, 0,
		`{column} "{read}" looks like {what}: a spreadsheet may have made it of an identifier such as {such}; so in {count} row(s)`,
		"format the column as text and type the identifier again"},
	{CharactersFolded, Note, 0,
		`{column} "{read}" holds characters that look like plain ones or cannot be seen; it is read as "{value}"; so in {count} row(s)`,
		"nothing to do if it is meant so; type it anew to be plain"},
	{CASRepaired, Check, 0,
		"{column} {read} is {what}; it is taken as the CAS number {value}, whose check digit is right",
		"format the column as text and type the CAS number again"},
	{CASInvalid, Check, 0,
		"{column} {read} is not a CAS number: {reason}",
		"correct the CAS number, or leave it empty"},
	{UnknownTable, Note, 0,
		"{read} is not one of the input tables and was not read{near}",
		"rename it if it is meant to be one of {expected}"},
	{ExampleRows, Check, 0,
		"the {table} table holds {count} example row(s) of the starter workbook ({read}); they count like any other",
		"delete the rows whose first cells begin with {prefix} before the results are used"},
	{DuplicateTable, Stop, 0,
		"{read} is a second {table} table beside {first}; it was not read",
		"put the rows of both in one table"},
	{HiddenSheet, Note, 0,
		"sheet {read} is hidden; it was read as the {table} table",
		"show the sheet, or delete it if it is not wanted"},
	{HiddenRows, Check, 0,
		"the sheet hides the rows {rows}; they are read like the others",
		"show the rows or take the filter off; delete those that are not wanted"},
	{HiddenColumn, Check, 0,
		`the sheet hides the column "{read}"; it is read like the others`,
		"show the column, or delete it if it is not wanted"},
	{IncompleteTable, Stop, 0,
		"the {table} table was not read: {reason}",
		"add the column {column}"},
	{MissingColumn, Stop, 0,
		"there is no column {column} ({expected}){near}; the table cannot be read without it",
		"add the column {column}, or give its header this name"},
	{EmptyTable, Check, 0,
		"the {table} table has no rows",
		"fill in the table"},
	{UnknownColumn, Note, 0,
		`column "{read}" of the {table} table is not known and not used{near}`,
		"rename it if it is meant to be used"},
	{UnnamedColumn, Note, 0,
		"the {table} table has cells under no header; they are not used",
		"give the column a header if it is meant to be used"},
	{DuplicateColumn, Check, 0,
		`the headers "{first}" and "{read}" both mean {column}; "{first}" is used and "{read}" is not`,
		"delete or rename one of the two"},
	{HeaderConverted, Note, 0,
		`the header "{read}" gives {unit}; its numbers are turned into {expected}`,
		"nothing to do if the numbers are in {unit}"},
	{HeaderRefused, Stop, 0,
		`the header "{read}" gives the unit "{unit}", which cannot be turned into {expected}; the column is not used`,
		"give the column in {expected}"},
	{LongRow, Stop, 0,
		"the row has {count} cells under {expected} headers; it is left out, because its cells may stand in the wrong columns",
		"put quotes around cells that hold the delimiter, such as decimal commas"},
	{ShortRows, Note, 0,
		"{count} rows have fewer cells than the header; the missing ones are taken as empty; the first is this",
		"nothing to do if they are meant to be empty"},
	{StrayQuote, Check, 0,
		"the row has a quotation mark that nothing closes; it is read as an ordinary character",
		"close the quotation mark, or double it inside a quoted cell"},
	{EncodingGuessed, Note, 0,
		"the file is not UTF-8; it is read as {encoding}",
		"look at letters with accents and µ, or save the file as UTF-8"},
	{RowsAboveHeader, Note, 0,
		`the headers stand in row {header}; what stands above them is not used: rows {rows}, the first "{read}"`,
		"nothing to do if those rows are titles; move facts of the survey to the survey table"},
	{TwoHeaderRows, Note, 0,
		"the headers stand in the rows {first} and {second}; they are read together",
		"nothing to do if every column is understood; one row of headers is plainer"},
	{UnitRow, Note, 0,
		"the row under the headers is read as their units: {read}",
		"nothing to do if the numbers are in these units"},
	{HeaderRepeated, Note, 0,
		"the headers stand again in {count} row(s), the first this one; they hold no data",
		"nothing to do; delete the rows to be plain"},
	{SummaryRow, Check, 0,
		`the row begins with "{read}" and names nothing else: it is taken as a summary of others and left out`,
		"delete the row, or fill in what identifies it if it is a row of its own"},
	{RemarkRow, Note, 0,
		`the row holds one cell alone: "{read}"; it is taken as a remark and left out`,
		"nothing to do if it is a remark; fill in the other cells if it is a row of its own"},
	{UnknownItem, Check, 0,
		"{read} is not an item of the survey table and is not used{near}",
		"write one of {expected}"},
	{UnknownTimezone, Check, 0,
		`timezone "{read}" is not known; times are taken as they stand, without clock changes`,
		"write the name of the zone, such as America/Chicago or Europe/Berlin"},
	{ZeroResult, Stop, 0,
		`{column} "{read}" is not a result: no exposure is known to be exactly zero; {then}`,
		"ask for the reporting limit, and write the result as under it, such as <0.06"},
	{NonDetectBare, Stop, 0,
		`{column} "{read}" says that nothing was found, but not under which reporting limit; {then}`,
		"ask for the reporting limit, and write the result as under it, such as <0.06"},
	{BoundsDisagree, Stop, 0,
		`{column} "{read}" is not within low "{low}" and high "{high}"; {then}`,
		"give the value alone, or bounds that hold it"},
	{NoGroupColumn, Check, 0,
		"the list has no column group: all its rows are judged as one group",
		"add a column group, unless all rows are of workers with similar exposure"},
}
