package reports

import (
	"fmt"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"
)

// look is what tells the styles of the workbook apart.
type look struct {
	format string // number format, "" for general
	bold   bool
	italic bool
	wrap   bool
	right  bool
	fill   string // colour; light enough to print as pale grey
	size   float64
	edge   int // border below, as excelize numbers them; 0 none
	framed bool
	inset  bool // a little in from the left edge, off what the column before holds
	middle bool // between the edges of the row, not at its top
	open   bool // a reader may edit it: a dotted frame
}

// Fills say nothing by themselves: the words beside them do, and they stay
// apart when printed in black and white.
const (
	headFill  = "DDE3E6"
	aboveFill = "E9D3CB"
	fontName  = "Calibri"
	fontSize  = 10.0
	textOnly  = "@" // a cell that stays text when someone edits it
)

// textFormat is the number of the built-in text format (ECMA-376, 18.8.30).
const textFormat = 49

// Borders by excelize's numbers.
const (
	thinLine   = 1
	mediumLine = 2
	dottedLine = 4
	hairLine   = 7
)

const (
	lineColour = "404040"
	hairColour = "A6A6A6"
)

// styles makes each look once.
type styles struct {
	file *excelize.File
	made map[look]int
	err  error // the first; a workbook without its number formats is no workbook
}

func (s *styles) of(l look) int {
	if id, ok := s.made[l]; ok {
		return id
	}
	id, err := s.file.NewStyle(l.style())
	if err != nil && s.err == nil {
		s.err = err
	}
	s.made[l] = id
	return id
}

func (l look) style() *excelize.Style {
	size := l.size
	if size == 0 {
		size = fontSize
	}
	st := &excelize.Style{
		Font:      &excelize.Font{Family: fontName, Size: size, Bold: l.bold, Italic: l.italic},
		Alignment: &excelize.Alignment{Vertical: "top", Horizontal: "left", WrapText: l.wrap},
	}
	if l.right {
		st.Alignment.Horizontal = "right"
	}
	if l.framed || l.inset || l.right && l.format == "" { // figures have their formats to keep clear of the next column
		st.Alignment.Indent = 1
	}
	if l.middle {
		st.Alignment.Vertical = "center"
	}
	switch l.format {
	case "":
	case textOnly:
		st.NumFmt = textFormat
	default:
		st.CustomNumFmt = &l.format
	}
	if l.fill != "" {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{l.fill}}
	}
	st.Border = l.border()
	return st
}

func (l look) border() []excelize.Border {
	if l.framed {
		return frame(mediumLine)
	}
	if l.open {
		return frame(dottedLine)
	}
	colour := lineColour
	switch l.edge {
	case 0:
		return nil
	case hairLine:
		colour = hairColour
	}
	return []excelize.Border{{Type: "bottom", Color: colour, Style: l.edge}}
}

// frame returns a border on all sides.
func frame(line int) []excelize.Border {
	var all []excelize.Border
	for _, side := range []string{"left", "right", "top", "bottom"} {
		all = append(all, excelize.Border{Type: side, Color: lineColour, Style: line})
	}
	return all
}

// clear keeps a figure off the text in the next column by the width of a
// digit: an indent is not heeded everywhere for figures with decimals.
const clear = "_0"

// numberFormat is the workbook's format for a figure with so many decimals.
func numberFormat(decimals int, percent bool) string {
	switch {
	case decimals > mostDecimals:
		return "0.00E+00" + clear
	case percent:
		return percentFormats[decimals]
	}
	return numberFormats[decimals]
}

// The formats by the number of decimals.
var numberFormats, percentFormats = formatsBefore(clear), formatsBefore(`\ %` + clear)

func formatsBefore(end string) (all [mostDecimals + 1]string) {
	for d := range all {
		all[d] = strings.TrimSuffix("0."+strings.Repeat("0", d), ".") + end
	}
	return all
}

// exponentFrom is where figures get an exponent: they would not go into their
// columns.
const exponentFrom = 1e7

// farShare is the part of a format that tells of shares beyond mostShare; what
// others look like follows it.
var farShare = fmt.Sprintf(`[>%d]">%d %%"`, mostShare, mostShare*100) + clear + ";"

// fewFormat returns the format of an upper limit that words tell better; where an
// edit brings it under its limit, its figure shows.
func fewFormat(c cell, show showing) string {
	words := `"` + tooFew + `"` + clear
	if c.number <= c.mark {
		return words
	}
	return "[>" + string(appendNumber(nil, c.mark)) + "]" + words + ";" + numberFormat(2, show == percent)
}

// formatOf returns the format that shows the number of c as the field wants.
func formatOf(c cell, show showing) string {
	if c.few {
		return fewFormat(c, show)
	}
	switch show {
	case whole:
		return "0" + clear
	case published, prose:
		return numberFormat(publishedDecimals(c.number), false)
	case percent:
		if c.number > mostShare {
			return farShare + numberFormat(0, true)
		}
		return numberFormat(decimals(c.number*100, c.mark*100), true)
	default:
		if math.Abs(c.number) >= exponentFrom {
			return numberFormat(mostDecimals+1, false)
		}
		return numberFormat(decimals(c.number, c.mark), false)
	}
}

// entry returns c as a row of a table has it; what is missing has no value
// there, but the line under its row.
func (s *styles) entry(c cell, show showing) excelize.Cell {
	l := look{edge: hairLine, middle: true, wrap: mayWrap(c, show), inset: standsIn(show)}
	if show == span {
		l.right, l.format = true, textOnly+clear
	}
	switch c.form {
	case missing:
		return excelize.Cell{StyleID: s.of(look{edge: hairLine, middle: true})}
	case isNumber:
		l.format, l.right = formatOf(c, show), show != prose
		return excelize.Cell{StyleID: s.of(l), Value: c.number}
	case isTruth:
		return excelize.Cell{StyleID: s.of(l), Value: yesNo(c)}
	case isMoment:
		return s.momentEntry(c, l)
	default:
		return s.textEntry(c.words(), show, l)
	}
}

// standsIn reports whether the texts of a column stand a little in, off what the
// column before them holds.
func standsIn(show showing) bool { return show == prose || show == remark }

// mayWrap reports whether a cell holds text that may take several lines.
func mayWrap(c cell, show showing) bool {
	return (c.form == isText || c.form == isList) && (show == prose || show == remark || show == figures)
}

func yesNo(c cell) string {
	if c.number != 0 {
		return "yes"
	}
	return "no"
}

// momentEntry returns a moment as a date of the workbook, in the time of day
// of the site.
func (s *styles) momentEntry(c cell, l look) excelize.Cell {
	switch {
	case c.moment.Bare:
		return s.textEntry(momentText(c.moment), figures, l)
	case c.moment.DateOnly:
		l.format = "yyyy-mm-dd"
	default:
		l.format = "yyyy-mm-dd hh:mm"
	}
	return excelize.Cell{StyleID: s.of(l), Value: serial(c.moment.T)}
}

// longestText is how much text a cell of a workbook holds.
const longestText = 32000

// textEntry returns text with a look, which its first letter or its weight as
// a verdict may change.
func (s *styles) textEntry(t string, show showing, l look) excelize.Cell {
	if startsFormula(t) && l.format == "" {
		l.format = textOnly
	}
	if len(t) > longestText {
		t = strings.ToValidUTF8(t[:longestText], "") + " … (cut; whole in " + ResultsFile + ")"
	}
	if show == verdict {
		l = l.weighed(t)
	}
	if t == "" {
		return excelize.Cell{StyleID: s.of(l)}
	}
	return excelize.Cell{StyleID: s.of(l), Value: t}
}

// weighed sets a verdict apart by its weight; the word alone says it too.
func (l look) weighed(t string) look {
	l.bold = t == "above" || t == "stop"
	l.italic = t == "undecided" || t == "check"
	if l.bold {
		l.fill = aboveFill
	}
	return l
}
