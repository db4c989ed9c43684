package survey

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// Bounds of the markup of one part.
const (
	markupWindow   = 128 << 10
	mostMarkBytes  = 16 << 20 // of one text or one mark
	mostNestedness = 64
)

// token is what the reader of a part came to.
type token uint8

const (
	endOfPart token = iota
	openingMark
	closingMark
	characters
)

// markup reads XML as it stands in workbooks, in one pass and in a window of
// memory. Names are told without their prefix: a spreadsheet may choose any.
// There are no declared entities; a part that declares some is refused.
type markup struct {
	in     io.Reader
	window []byte
	at     int // what is before it was told
	ended  bool

	name       []byte // of the mark just opened or closed
	attributes []byte // of the mark just opened, as written
	text       []byte // the characters, as written
	verbatim   bool   // they stand in a CDATA section
	hollow     bool   // the mark just opened closes at once

	open   []byte // the names of the open marks, one behind the other
	starts []int  // where each of them starts
	fault  error  // in an attribute
}

func newMarkup(in io.Reader) *markup {
	return &markup{in: in, window: make([]byte, 0, markupWindow)}
}

// depth is how many marks are open: one just opened is, one just closed is not.
func (m *markup) depth() int { return len(m.starts) }

// next goes to the next token. What it tells stands until it is called again.
func (m *markup) next() (token, error) {
	if m.fault != nil {
		return endOfPart, m.fault
	}
	if m.hollow {
		m.hollow = false
		m.leave()
		return closingMark, nil
	}
	for {
		if m.at == len(m.window) {
			if err := m.fill(); err == io.EOF {
				return m.end()
			} else if err != nil {
				return endOfPart, err
			}
		}
		read := m.readMark
		if m.window[m.at] != '<' {
			read = m.readCharacters
		}
		t, err := read()
		if t != endOfPart || err != nil {
			return t, err
		}
	}
}

func (m *markup) end() (token, error) {
	if len(m.open) > 0 || m.name == nil {
		return endOfPart, errors.New("it ends in the middle")
	}
	return endOfPart, nil
}

// fill reads more into the window; what was told makes room. At the end of the
// part it returns io.EOF.
func (m *markup) fill() error {
	if m.ended {
		return io.EOF
	}
	if m.at > 0 {
		m.window = m.window[:copy(m.window, m.window[m.at:])]
		m.at = 0
	}
	if len(m.window) == cap(m.window) {
		if len(m.window) >= mostMarkBytes {
			return fmt.Errorf("a text or mark in it is longer than %d MB", mostMarkBytes>>20)
		}
		m.window = append(make([]byte, 0, 2*cap(m.window)), m.window...)
	}
	for range 100 {
		n, err := m.in.Read(m.window[len(m.window):cap(m.window)])
		m.window = m.window[:len(m.window)+n]
		if err == io.EOF {
			m.ended = true
			if n == 0 {
				return io.EOF
			}
			return nil
		}
		if n > 0 || err != nil {
			return err
		}
	}
	return io.ErrNoProgress
}

// find returns where the next of a text stands from a place on, both counted
// from the start of what is not told yet.
func (m *markup) find(text string, from int) (int, error) {
	for {
		rest := m.window[m.at:]
		var i int
		if len(text) == 1 {
			i = bytes.IndexByte(rest[min(from, len(rest)):], text[0])
		} else {
			i = bytes.Index(rest[min(from, len(rest)):], []byte(text))
		}
		if i >= 0 {
			return from + i, nil
		}
		from = max(from, len(rest)-len(text)+1)
		if err := m.fill(); err != nil {
			return 0, cutShort(err)
		}
	}
}

func cutShort(err error) error {
	if err == io.EOF {
		return errors.New("it ends in the middle")
	}
	return err
}

// readCharacters reads up to the next mark. For what stands outside all marks
// it returns endOfPart and no error.
func (m *markup) readCharacters() (token, error) {
	end, err := m.find("<", 0)
	if err != nil && m.ended && len(m.starts) == 0 {
		end, err = len(m.window)-m.at, nil
	}
	if err != nil {
		return endOfPart, err
	}
	m.text, m.verbatim = m.window[m.at:m.at+end], false
	m.at += end
	if len(m.starts) == 0 {
		if len(bytes.TrimSpace(bytes.TrimPrefix(m.text, []byte("\uFEFF")))) > 0 {
			return endOfPart, errors.New("it is not XML")
		}
		return endOfPart, nil
	}
	return characters, nil
}

// readMark reads what starts with "<". For what tells nothing, such as a
// comment, it returns endOfPart and no error.
func (m *markup) readMark() (token, error) {
	for len(m.window)-m.at < len("<![CDATA[") && !m.ended {
		if err := m.fill(); err != nil && err != io.EOF {
			return endOfPart, err
		}
	}
	switch rest := m.window[m.at:]; {
	case len(rest) < 2:
		return endOfPart, cutShort(io.EOF)
	case rest[1] == '/':
		return m.readClosing()
	case rest[1] == '?':
		return endOfPart, m.pass("?>", len("<?"))
	case rest[1] != '!':
		return m.readOpening()
	case bytes.HasPrefix(rest, []byte("<!--")):
		return endOfPart, m.pass("-->", len("<!--"))
	case bytes.HasPrefix(rest, []byte("<![CDATA[")):
		return m.readVerbatim()
	}
	return endOfPart, errors.New("it declares a document type, which may hide anything in entities; no spreadsheet writes one")
}

// readVerbatim reads a CDATA section.
func (m *markup) readVerbatim() (token, error) {
	const start, end = len("<![CDATA["), "]]>"
	length, err := m.find(end, start)
	if err != nil {
		return endOfPart, err
	}
	if len(m.starts) == 0 {
		return endOfPart, errors.New("it is not XML")
	}
	m.text, m.verbatim = m.window[m.at+start:m.at+length], true
	m.at += length + len(end)
	return characters, nil
}

func (m *markup) pass(end string, from int) error {
	i, err := m.find(end, from)
	if err == nil {
		m.at += i + len(end)
	}
	return err
}

func (m *markup) readClosing() (token, error) {
	end, err := m.find(">", 2)
	if err != nil {
		return endOfPart, err
	}
	name := bytes.TrimRightFunc(m.window[m.at+2:m.at+end], isXMLSpace)
	m.at += end + 1
	if len(m.starts) == 0 {
		return endOfPart, fmt.Errorf("it closes <%.40s>, which is not open", name)
	}
	if start := m.starts[len(m.starts)-1]; string(m.open[start:]) != string(name) {
		return endOfPart, fmt.Errorf("it closes <%.40s> where <%.40s> is open", name, m.open[start:])
	}
	m.name = localName(name)
	m.leave()
	return closingMark, nil
}

// leave forgets the mark opened last.
func (m *markup) leave() {
	last := len(m.starts) - 1
	m.open, m.starts = m.open[:m.starts[last]], m.starts[:last]
}

func (m *markup) readOpening() (token, error) {
	end, err := m.markEnd()
	if err != nil {
		return endOfPart, err
	}
	inside := m.window[m.at+1 : m.at+end]
	m.at += end + 1
	m.hollow = bytes.HasSuffix(inside, []byte("/"))
	if m.hollow {
		inside = inside[:len(inside)-1]
	}
	name := inside
	m.attributes = nil
	for i, c := range inside {
		if c == ' ' || c == '\n' || c == '\t' || c == '\r' {
			name, m.attributes = inside[:i], inside[i:]
			break
		}
	}
	if len(name) == 0 {
		return endOfPart, errors.New("it has a mark without a name")
	}
	if len(m.starts) >= mostNestedness {
		return endOfPart, fmt.Errorf("its marks are nested more than %d deep", mostNestedness)
	}
	m.name = localName(name)
	if len(m.starts) == 0 && m.open != nil {
		return endOfPart, errors.New("it has more than one outermost mark")
	}
	m.starts = append(m.starts, len(m.open))
	m.open = append(m.open, name...)
	return openingMark, nil
}

// markEnd returns where the ">" of a mark stands, which no quotes enclose.
func (m *markup) markEnd() (int, error) {
	var quote byte
	for i := 1; ; i++ {
		if m.at+i >= len(m.window) {
			if err := m.fill(); err != nil {
				return 0, cutShort(err)
			}
		}
		switch c := m.window[m.at+i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '>':
			return i, nil
		case c == '"' || c == '\'':
			quote = c
		case c == '<':
			return 0, errors.New("it has a mark within a mark")
		}
	}
}

func localName(name []byte) []byte {
	if i := bytes.IndexByte(name, ':'); i >= 0 {
		return name[i+1:]
	}
	return name
}

// parent is the name of the mark in which the one just opened stands.
func (m *markup) parent() string {
	n := len(m.starts)
	if n < 2 {
		return ""
	}
	return string(localName(m.open[m.starts[n-2]:m.starts[n-1]]))
}
