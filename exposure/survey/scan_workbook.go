package survey

import (
	"fmt"
	"strings"
)

// Bounds of a workbook.
const (
	mostSheets      = 4096
	mostSharedTexts = 1 << 24
)

// scanner reads the sheets of a workbook in one pass each.
type scanner struct {
	*parcel
	since1904 bool
	sheets    []sheetEntry
	styles    *sheetStyles
	texts     *texts
	shared    []span
	path      map[string]string // of the parts that are not sheets, by kind
	count     int               // cells so far
}

// sheetEntry is a sheet as the workbook lists it.
type sheetEntry struct {
	name, id string
	hidden   bool
	part     string // "" where the workbook does not say
	isGrid   bool   // not a sheet that is all chart or dialog
}

// openScanner reads what the workbook says of its sheets.
func openScanner(raw []byte) (*scanner, error) {
	p, err := openParcel(raw)
	if err != nil {
		return nil, err
	}
	s := &scanner{parcel: p, texts: &texts{}, path: make(map[string]string)}
	book, err := s.mainPart()
	if err != nil {
		return nil, err
	}
	if err := s.readBook(book); err != nil {
		return nil, err
	}
	return s, s.relate(book)
}

// mainPart returns the part that is the workbook itself.
func (s *scanner) mainPart() (string, error) {
	all, err := s.relations("")
	for _, r := range all {
		if r.kind == "officeDocument" {
			return r.target, err
		}
	}
	return "xl/workbook.xml", err
}

func (s *scanner) readBook(book string) error {
	return s.scan(book, func(m *markup) error {
		inSheets := false
		return m.eachMark(func(depth int) error {
			switch {
			case depth == 1 && string(m.name) != "workbook":
				return fmt.Errorf("it is no workbook but %.40q", m.name)
			case depth == 2:
				inSheets = string(m.name) == "sheets"
				if string(m.name) == "workbookPr" {
					s.since1904 = isTrue(m.word("date1904"))
				}
			case depth == 3 && inSheets && string(m.name) == "sheet":
				if len(s.sheets) >= mostSheets {
					return fmt.Errorf("it lists more than %d sheets", mostSheets)
				}
				state := m.word("state")
				s.sheets = append(s.sheets, sheetEntry{name: string(unescape([]byte(m.word("name")))),
					id: string(m.prefixed("id")), hidden: state != "" && state != "visible"})
			}
			return nil
		})
	})
}

func isTrue(word string) bool { return word == "1" || strings.EqualFold(word, "true") || word == "on" }

// relate finds the parts of the sheets and those that serve them all.
func (s *scanner) relate(book string) error {
	all, err := s.relations(book)
	if err != nil {
		return err
	}
	byID := make(map[string]relation, len(all))
	for _, r := range all {
		byID[r.id] = r
		s.path[r.kind] = r.target
	}
	for i := range s.sheets {
		r := byID[s.sheets[i].id]
		s.sheets[i].part, s.sheets[i].isGrid = r.target, r.kind == "worksheet"
	}
	return nil
}

// sheet reads one sheet.
func (s *scanner) sheet(e sheetEntry) (*sheetGrid, error) {
	if e.part == "" {
		return nil, fmt.Errorf("sheet %.40q has no part: its relation %.20q is missing", e.name, e.id)
	}
	if !e.isGrid {
		return &sheetGrid{texts: s.texts}, nil
	}
	if err := s.readCommon(); err != nil {
		return nil, err
	}
	g := &gridScan{scanner: s, grid: &sheetGrid{texts: s.texts, since1904: s.since1904}}
	if err := s.scan(e.part, g.read); err != nil {
		return nil, fmt.Errorf("sheet %.40q: %w", e.name, err)
	}
	return g.grid, nil
}

// readCommon reads, once, what the sheets have in common.
func (s *scanner) readCommon() error {
	if s.styles != nil {
		return nil
	}
	s.styles = &sheetStyles{since1904: s.since1904}
	if part := s.path["styles"]; part != "" && s.has(part) {
		if err := s.scan(part, s.styles.read); err != nil {
			return err
		}
	}
	if part := s.path["sharedStrings"]; part != "" && s.has(part) {
		return s.scan(part, s.readShared)
	}
	return nil
}

// readShared reads the texts that cells refer to by their number.
func (s *scanner) readShared(m *markup) error {
	var item runs
	for {
		t, err := m.next()
		switch {
		case err != nil:
			return err
		case t == endOfPart:
			return nil
		case t == openingMark && m.depth() == 1 && string(m.name) != "sst":
			return fmt.Errorf("it is no list of texts but %.40q", m.name)
		case t == closingMark && m.depth() == 1 && string(m.name) == "si":
			at, err := s.texts.add(unescape(item.text))
			if err != nil {
				return err
			}
			if s.shared = append(s.shared, at); len(s.shared) > mostSharedTexts {
				return &refusal{fmt.Sprintf("it holds more than %d texts", mostSharedTexts), makeSmaller}
			}
			item.text = item.text[:0]
		default:
			if err := item.take(t, m, 2); err != nil {
				return err
			}
		}
	}
}

// runs gathers the text of a cell that stands in runs of unlike looks. How it
// is pronounced stands beside it in some languages and is not shown.
type runs struct {
	text   []byte
	inText bool
}

// take takes in a token below a mark that holds runs, which stands at a depth.
func (r *runs) take(t token, m *markup, depth int) (err error) {
	switch t {
	case openingMark:
		below := m.depth() - depth
		r.inText = string(m.name) == "t" && (below == 1 || below == 2 && m.parent() == "r")
	case closingMark:
		r.inText = false
	case characters:
		if r.inText {
			r.text, err = m.appendText(r.text)
		}
	}
	return err
}
