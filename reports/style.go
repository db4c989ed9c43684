package reports

import (
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
		if l.format == "" { // a heading over figures, which their formats keep clear
			st.Alignment.Indent = 1
		}
	}
	if l.framed {
		st.Alignment.Indent = 1
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
	if l.edge != 0 {
		st.Border = append(st.Border, excelize.Border{Type: "bottom", Color: "404040", Style: l.edge})
	}
	if l.framed {
		for _, side := range []string{"left", "right", "top", "bottom"} {
			st.Border = append(st.Border, excelize.Border{Type: side, Color: "404040", Style: mediumLine})
		}
	}
	return st
}

// clear keeps a figure off the text in the next column by the width of a
// bracket.
const clear = "_)"

// numberFormat is the workbook's format for a figure with so many decimals.
func numberFormat(decimals int, percent bool) string {
	format := "0"
	switch {
	case decimals > mostDecimals:
		return "0.00E+00" + clear
	case decimals > 0:
		format += "." + strings.Repeat("0", decimals)
	}
	if percent {
		format += "%"
	}
	return format + clear
}

// formatOf returns the format that shows the number of c as the field wants.
func formatOf(c cell, show showing) string {
	switch show {
	case whole:
		return "0" + clear
	case published, prose:
		return numberFormat(publishedDecimals(c.number), false)
	case percent:
		return numberFormat(decimals(c.number*100, c.mark*100), true)
	default:
		return numberFormat(decimals(c.number, c.mark), false)
	}
}

// entry returns c as the workbook has it; what is missing has no cell there.
func (s *styles) entry(c cell, show showing) any {
	switch c.form {
	case missing:
		return nil
	case isNumber:
		return excelize.Cell{StyleID: s.of(look{format: formatOf(c, show), right: show != prose}), Value: c.number}
	case isTruth:
		return excelize.Cell{StyleID: s.of(look{}), Value: yesNo(c)}
	case isMoment:
		return s.momentEntry(c)
	default:
		return s.textEntry(c.words(), show)
	}
}

func yesNo(c cell) string {
	if c.number != 0 {
		return "yes"
	}
	return "no"
}

// momentEntry returns a moment as a date of the workbook, in the time of day
// of the site.
func (s *styles) momentEntry(c cell) any {
	switch {
	case c.moment.Bare:
		return s.textEntry(momentText(c.moment), figures)
	case c.moment.DateOnly:
		return excelize.Cell{StyleID: s.of(look{format: "yyyy-mm-dd"}), Value: serial(c.moment.T)}
	default:
		return excelize.Cell{StyleID: s.of(look{format: "yyyy-mm-dd hh:mm"}), Value: serial(c.moment.T)}
	}
}

// longestText is how much text a cell of a workbook holds.
const longestText = 32000

func (s *styles) textEntry(t string, show showing) any {
	if t == "" {
		return nil
	}
	l := look{wrap: show == prose}
	if startsFormula(t) {
		l.format = textOnly
	}
	if len(t) > longestText {
		t = strings.ToValidUTF8(t[:longestText], "") + " … (cut; whole in " + ResultsFile + ")"
	}
	if show == verdict {
		l.bold = t == "above" || t == "stop"
		l.italic = t == "undecided" || t == "check"
		if l.bold {
			l.fill = aboveFill
		}
	}
	return excelize.Cell{StyleID: s.of(l), Value: t}
}
