package survey

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// sheetStyles knows how each style of a workbook shows numbers.
type sheetStyles struct {
	since1904 bool
	codes     map[int]string // number formats of the workbook's own
	styles    []int          // the number format of each style
	shows     map[int]*numberFormat
	bench     *excelize.File // shows one number at a time; nil until one must be
}

// numberFormat is one number format.
type numberFormat struct {
	kind    cellKind
	isPlain bool // it shows a number as it is
	pattern *pattern
	cell    string // of the bench, where the format is applied
}

// asksForPowers reports whether a number that is shown in powers of ten is so
// by its format: typed into a plain cell, 1E5 gets such a format of itself.
func (f *numberFormat) asksForPowers(how shownHow) bool { return how == asStyled && !f.isPlain }

const benchSheet = "Sheet1"

// read reads the styles of a workbook.
func (s *sheetStyles) read(m *markup) error {
	s.codes = make(map[int]string)
	var within string
	return m.eachMark(func(depth int) error {
		switch {
		case len(s.codes) > mostStyles || len(s.styles) > mostStyles:
			return fmt.Errorf("it has more than %d styles", mostStyles)
		case depth == 2:
			within = string(m.name)
		case depth == 3 && within == "numFmts" && string(m.name) == "numFmt":
			code := m.word("formatCode")
			if newer := m.prefixed("formatCode16"); newer != nil {
				code = string(newer)
			}
			if id, ok := m.whole("numFmtId"); ok {
				if _, known := s.codes[id]; !known {
					s.codes[id] = code
				}
			}
		case depth == 3 && within == "cellXfs" && string(m.name) == "xf":
			id, _ := m.whole("numFmtId")
			s.styles = append(s.styles, id)
		}
		return nil
	})
}

// has reports whether the workbook has a style; one without any has the first.
func (s *sheetStyles) has(style int) bool { return style == 0 || style < len(s.styles) }

// format returns how a style shows numbers.
func (s *sheetStyles) format(style int) (*numberFormat, error) {
	id := 0
	if style < len(s.styles) {
		id = s.styles[style]
	}
	if f := s.shows[id]; f != nil {
		return f, nil
	}
	f := &numberFormat{}
	code, own := s.codes[id]
	if own {
		f.kind = kindOfFormat(id, &code)
	} else {
		f.kind = kindOfFormat(id, nil)
	}
	if id == 0 && !own || strings.EqualFold(code, "general") {
		f.isPlain = true
	} else if err := s.lay(f, id, code, own); err != nil {
		return nil, err
	}
	if s.shows == nil {
		s.shows = make(map[int]*numberFormat)
	}
	s.shows[id] = f
	return f, nil
}

// Bounds of styles and number formats. Spreadsheets write 65,490 styles at most,
// and some hundred formats, each of at most 255 letters.
const (
	mostStyles    = 1 << 16
	mostFormats   = 2048
	mostCodeBytes = 2048
)

// firstOwnFormat is the number of the first format that no standard describes.
const firstOwnFormat = 164

// lay lays a format out on the bench.
func (s *sheetStyles) lay(f *numberFormat, id int, code string, own bool) error {
	style := &excelize.Style{NumFmt: id}
	f.pattern = compile(plainCodes[id])
	switch {
	case own && code == "", !own && id >= firstOwnFormat:
		f.isPlain = true
		return nil
	case len(code) > mostCodeBytes:
		return fmt.Errorf("has a number format of %d letters", len(code))
	case len(s.shows) >= mostFormats:
		return fmt.Errorf("has one number format more than the %d that can be told apart", mostFormats)
	case own:
		style, f.pattern = &excelize.Style{CustomNumFmt: &code}, compile(code)
	}
	if s.bench == nil {
		s.bench = excelize.NewFile()
		if err := s.bench.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &s.since1904}); err != nil {
			return err
		}
	}
	made, err := s.bench.NewStyle(style)
	if err != nil {
		return err
	}
	f.cell = "A" + strconv.Itoa(len(s.shows)+1)
	return s.bench.SetCellStyle(benchSheet, f.cell, f.cell, made)
}

// show returns what a cell of a format shows for a number.
func (s *sheetStyles) show(f *numberFormat, raw string, v float64) (string, error) {
	if f.isPlain {
		return shownPlainly(raw, v), nil
	}
	if text, ok := f.pattern.show(v, s.since1904); ok {
		return text, nil
	}
	if err := s.bench.SetCellDefault(benchSheet, f.cell, raw); err != nil {
		return "", err
	}
	return s.bench.GetCellValue(benchSheet, f.cell)
}

// shownPlainly is a number in the format General: of more than 15 digits the
// first 15, and of more than 11 the first 10.
func shownPlainly(raw string, v float64) string {
	const digitsKept, digitsShown, digitsFit = 15, 10, 11
	exact := strconv.FormatFloat(v, 'f', -1, 64)
	if count := len(strings.ReplaceAll(exact, ".", "")); count > digitsFit {
		if count > digitsKept {
			v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'G', digitsKept, 64), 64)
			exact = strconv.FormatFloat(v, 'f', -1, 64)
			count = len(strings.ReplaceAll(exact, ".", ""))
		}
		if count > digitsFit {
			return strconv.FormatFloat(v, 'G', digitsShown, 64)
		}
	}
	return exact
}
