package survey

import (
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// plainCodes are the codes of the built-in number formats that a pattern can
// show: ISO/IEC 29500-1, 18.8.30, where those of dates depend on the place;
// these are the ones of the spreadsheet library.
var plainCodes = map[int]string{1: "0", 2: "0.00", 9: "0%", 10: "0.00%",
	14: "mm-dd-yy", 20: "hh:mm", 21: "hh:mm:ss", 22: "m/d/yy hh:mm"}

// pattern shows numbers as the spreadsheet library does, only faster, in the
// commonest formats: digits and a percent sign, or days and times in digits.
type pattern struct {
	whole, decimals int  // zeros before and after the point
	percent         bool // of a hundred
	pieces          []datePiece
}

// datePiece is one part of a date: a letter of the format and how many of it
// stand together, or text.
type datePiece struct {
	letter byte
	count  int
	text   string
}

// compile returns the pattern of a format code; nil where it has none.
func compile(code string) *pattern {
	if p := compileNumber(code); p != nil {
		return p
	}
	return compileDate(code)
}

func compileNumber(code string) *pattern {
	digits, percent := strings.CutSuffix(code, "%")
	whole, decimals, pointed := strings.Cut(digits, ".")
	if strings.Trim(whole+decimals, "0") != "" || whole == "" || pointed && decimals == "" {
		return nil
	}
	return &pattern{whole: len(whole), decimals: len(decimals), percent: percent}
}

// compileDate returns the pattern of a code of days and times in digits.
func compileDate(code string) *pattern {
	p := &pattern{}
	if strings.ToUpper(code) != code && strings.ToLower(code) != code {
		return nil
	}
	for code = strings.ToLower(code); len(code) > 0; {
		letter := code[0]
		rest := strings.TrimLeft(code, code[:1])
		count := len(code) - len(rest)
		switch {
		case letter == '\\' && len(code) > 1 && code[1] < 0x80:
			p.pieces = append(p.pieces, datePiece{text: code[1:2]})
			rest = code[2:]
		case strings.IndexByte("-/:. ", letter) >= 0:
			p.pieces = append(p.pieces, datePiece{text: code[:count]})
		case letter == 'y' && (count == 2 || count == 4), strings.IndexByte("mdhs", letter) >= 0 && count <= 2:
			p.pieces = append(p.pieces, datePiece{letter: letter, count: count})
		default:
			return nil
		}
		code = rest
	}
	if last := len(p.pieces) - 1; last < 0 || p.pieces[0].letter == 0 || p.pieces[last].letter == 0 {
		return nil
	}
	p.findMinutes()
	return p
}

// findMinutes tells minutes from months: they stand after hours or before
// seconds.
func (p *pattern) findMinutes() {
	before, last := byte(0), -1
	for i, piece := range p.pieces {
		switch {
		case piece.letter == 0:
			continue
		case piece.letter == 'm' && (before == 'h' || before == 's'):
			p.pieces[i].letter = 'n'
		case piece.letter == 's' && last >= 0 && p.pieces[last].letter == 'm':
			p.pieces[last].letter = 'n'
		}
		before, last = piece.letter, i
	}
}

// Numbers that a pattern shows as dates: those before are shown by the rules
// of a calendar that never was, those after by none.
const (
	firstPlainDay = 62
	lastPlainDay  = 2_900_000
)

// digitsStored is how many digits of a number spreadsheets show at most.
const digitsStored = 15

// show returns what the pattern shows of a number; ok is false where it does
// not know.
func (p *pattern) show(v float64, since1904 bool) (text string, ok bool) {
	if p == nil {
		return "", false
	}
	v, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digitsStored, 64), 64)
	if err != nil {
		return "", false
	}
	if p.pieces != nil {
		return p.showDate(v, since1904)
	}
	return p.showNumber(v)
}

func (p *pattern) showNumber(v float64) (string, bool) {
	size := math.Abs(v)
	whole := 1
	for bound := 10.0; size >= bound; bound *= 10 {
		whole++
	}
	whole = max(whole, p.whole)
	if whole+p.decimals > digitsStored {
		return "", false
	}
	ratio := math.Pow(10, float64(p.decimals))
	if p.percent {
		size *= 100
	}
	digits := strconv.FormatFloat(math.Round(size*ratio)/ratio, 'f', p.decimals, 64)
	least := whole
	if p.decimals > 0 {
		least += 1 + p.decimals
	}
	text := strings.Repeat("0", max(0, least-len(digits))) + digits
	if v < 0 {
		text = "-" + text
	}
	if p.percent {
		text += "%"
	}
	return text, true
}

func (p *pattern) showDate(v float64, since1904 bool) (string, bool) {
	if v < firstPlainDay || v > lastPlainDay {
		return "", false
	}
	t, err := excelize.ExcelDateToTime(v, since1904)
	if err != nil {
		return "", false
	}
	out := make([]byte, 0, len("2026-03-02 22:10:00"))
	for _, piece := range p.pieces {
		n := 0
		switch piece.letter {
		case 0:
			out = append(out, piece.text...)
			continue
		case 'y':
			n = t.Year()
			if piece.count == 2 {
				n %= 100
			}
		case 'm':
			n = int(t.Month())
		case 'd':
			n = t.Day()
		case 'h':
			n = t.Hour()
		case 'n':
			n = t.Minute()
		case 's':
			n = t.Second()
		}
		if n < 10 && piece.count == 2 {
			out = append(out, '0')
		}
		out = strconv.AppendInt(out, int64(n), 10)
	}
	return string(out), true
}
