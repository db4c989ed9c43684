package survey

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
)

// inUTF8 returns the text of a part in UTF-8. A part is UTF-8 unless it is
// marked as UTF-16 or names another encoding.
func inUTF8(in io.Reader) (io.Reader, error) {
	head := make([]byte, 256)
	n, err := io.ReadFull(in, head)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, err
	}
	head = head[:n]
	whole := io.MultiReader(bytes.NewReader(head), in)
	switch {
	case bytes.HasPrefix(head, []byte("\xEF\xBB\xBF")):
		return io.MultiReader(bytes.NewReader(head[3:]), in), nil
	case bytes.HasPrefix(head, []byte("\xFE\xFF")), bytes.HasPrefix(head, []byte("\xFF\xFE")):
		return unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(whole), nil
	case bytes.HasPrefix(head, []byte("<\x00")):
		return unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder().Reader(whole), nil
	case bytes.HasPrefix(head, []byte("\x00<")):
		return unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder().Reader(whole), nil
	}
	named, err := namedEncoding(head)
	if err != nil || named == nil {
		return whole, err
	}
	return named.NewDecoder().Reader(whole), nil
}

// namedEncoding returns the encoding that the first line of a part names; nil
// where that is UTF-8 or none.
func namedEncoding(head []byte) (encoding.Encoding, error) {
	if !bytes.HasPrefix(head, []byte("<?xml")) {
		return nil, nil
	}
	line, _, _ := bytes.Cut(head, []byte("?>"))
	_, behind, found := bytes.Cut(line, []byte("encoding="))
	if !found || len(behind) == 0 {
		return nil, nil
	}
	name, _, _ := bytes.Cut(behind[1:], behind[:1])
	switch strings.ToLower(string(name)) {
	case "utf-8", "utf8", "us-ascii":
		return nil, nil
	}
	e, err := htmlindex.Get(string(name))
	if err != nil {
		return nil, fmt.Errorf("it is written in the encoding %.40q, which is not known", name)
	}
	return e, nil
}

// cutAttribute cuts the first attribute off those of a mark; name is nil after
// the last. What is no attribute makes the next token fail.
func (m *markup) cutAttribute(all []byte) (name, value, rest []byte) {
	if all = bytes.TrimLeftFunc(all, isXMLSpace); len(all) == 0 {
		return nil, nil, nil
	}
	if i := bytes.IndexByte(all, '='); i > 0 {
		name, rest = bytes.TrimRightFunc(all[:i], isXMLSpace), bytes.TrimLeftFunc(all[i+1:], isXMLSpace)
		if len(rest) > 1 && (rest[0] == '"' || rest[0] == '\'') {
			if end := bytes.IndexByte(rest[1:], rest[0]); end >= 0 {
				return name, rest[1 : 1+end], rest[end+2:]
			}
		}
	}
	m.fault = fmt.Errorf("the mark <%.40s> cannot be read", m.name)
	return nil, nil, nil
}

func isXMLSpace(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == '\r' }

// attribute returns an attribute of the mark just opened, as written; nil
// where it has none of that name. A prefix is part of the name.
func (m *markup) attribute(name string) []byte {
	for n, value, rest := m.cutAttribute(m.attributes); n != nil; n, value, rest = m.cutAttribute(rest) {
		if string(n) == name {
			return value
		}
	}
	return nil
}

// prefixed returns an attribute whose name has any prefix.
func (m *markup) prefixed(name string) []byte {
	for n, value, rest := m.cutAttribute(m.attributes); n != nil; n, value, rest = m.cutAttribute(rest) {
		if len(n) > len(name) && string(localName(n)) == name {
			return value
		}
	}
	return nil
}

// word returns an attribute as text.
func (m *markup) word(name string) string {
	text, err := spell(nil, m.attribute(name))
	if err != nil {
		m.fault = err
	}
	return string(text)
}

// whole returns an attribute that is a whole number from 0 up; ok is false
// where there is none.
func (m *markup) whole(name string) (n int, ok bool) {
	text := m.attribute(name)
	if text == nil {
		return 0, false
	}
	n, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil || n < 0 {
		m.fault = fmt.Errorf("the mark <%.40s> has %s=%.40q, which is no number", m.name, name, text)
		return 0, false
	}
	return n, true
}

// appendText appends the characters just read.
func (m *markup) appendText(into []byte) ([]byte, error) {
	if m.verbatim {
		if !utf8.Valid(m.text) {
			return into, errNotUTF8
		}
		return append(into, m.text...), nil
	}
	return spell(into, m.text)
}

var errNotUTF8 = errors.New("it holds bytes that are no letters in UTF-8")

// spell appends a text with its entities as the letters they stand for, and
// with lines that end as XML has them end.
func spell(into, text []byte) ([]byte, error) {
	if !utf8.Valid(text) {
		return into, errNotUTF8
	}
	for {
		i := bytes.IndexByte(text, '&')
		if end := bytes.IndexByte(text, '\r'); i < 0 || end >= 0 && end < i {
			i = end
		}
		if i < 0 {
			return append(into, text...), nil
		}
		into = append(into, text[:i]...)
		if text[i] == '\r' {
			into = append(into, '\n')
			text = bytes.TrimPrefix(text[i+1:], []byte("\n"))
			continue
		}
		end := bytes.IndexByte(text[i:min(len(text), i+12)], ';')
		r, ok := rune(0), false
		if end > 0 {
			r, ok = entity(string(text[i+1 : i+end]))
		}
		if !ok {
			return into, fmt.Errorf("it holds %.12q, which stands for no letter", text[i:])
		}
		into = utf8.AppendRune(into, r)
		text = text[i+end+1:]
	}
}

func entity(name string) (rune, bool) {
	switch name {
	case "lt":
		return '<', true
	case "gt":
		return '>', true
	case "amp":
		return '&', true
	case "quot":
		return '"', true
	case "apos":
		return '\'', true
	}
	code, isNumber := strings.CutPrefix(name, "#")
	base := 10
	if hex, ok := strings.CutPrefix(code, "x"); ok {
		code, base = hex, 16
	}
	n, err := strconv.ParseUint(code, base, 32)
	return rune(n), isNumber && err == nil && n > 0 && utf8.ValidRune(rune(n))
}

// unescape turns the escapes _xHHHH_ of a text into the characters they stand
// for: ISO/IEC 29500-1, 22.9.2.19. Two that make one character count as one.
func unescape(text []byte) []byte {
	if !bytes.Contains(text, []byte("_x")) {
		return text
	}
	out := make([]byte, 0, len(text))
	for len(text) > 0 {
		first, ok := escaped(text)
		if !ok {
			out, text = append(out, text[0]), text[1:]
			continue
		}
		text = text[escapeLength:]
		if second, ok := escaped(text); ok && utf16.IsSurrogate(first) {
			if both := utf16.DecodeRune(first, second); both != utf8.RuneError {
				first, text = both, text[escapeLength:]
			}
		}
		out = utf8.AppendRune(out, first)
	}
	return out
}

const escapeLength = len("_x005F_")

// escaped returns the character that the escape at the start of a text means.
func escaped(text []byte) (rune, bool) {
	if len(text) < escapeLength || text[0] != '_' || text[1] != 'x' || text[escapeLength-1] != '_' {
		return 0, false
	}
	n, err := strconv.ParseUint(string(text[2:escapeLength-1]), 16, 16)
	return rune(n), err == nil
}
