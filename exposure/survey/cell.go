package survey

// cellKind is what a cell holds besides its text. Text files hold text only.
type cellKind uint8

const (
	textKind    cellKind = iota
	numberKind           // number is exact; text is what the cell shows
	dateKind             // number is the serial of a date, a time, or both
	timeKind             // as dateKind, and the format shows a time of day
	errorKind            // an error value such as #N/A
	formulaKind          // a formula whose value the file does not hold
)

// cell is one cell as read.
type cell struct {
	text   string
	number float64
	kind   cellKind
}

// grid gives the cells of a sheet or text by row, as a person numbers rows.
type grid interface {
	rows() []int32
	read(row int32, into []cell) []cell
	doubtful() bool // whether the cells must be searched for number styles
}
