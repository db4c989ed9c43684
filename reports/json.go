package reports

import (
	"bufio"
	"io"
	"unicode/utf8"
)

// WriteJSON writes results.json: one object, each row of an array on a line of
// its own. It streams, and numbers are never rounded.
func (r *Report) WriteJSON(w io.Writer) error { return r.writeObject(w, resultsSchema, r.arrays()) }

// WriteCheckJSON writes the findings alone, with the same cover.
func (r *Report) WriteCheckJSON(w io.Writer) error {
	return r.writeObject(w, checkSchema, []array{r.findings()})
}

const bufferSize = 1 << 16

func (r *Report) writeObject(w io.Writer, schema string, arrays []array) error {
	out := bufio.NewWriterSize(w, bufferSize)
	line := []byte("{\n")
	for _, m := range [][2]string{{"schema", schema}, {"tool", r.tool()}, {"created", r.created()}} {
		line = appendMember(line, m[0], m[1])
	}
	sources, settings := r.sources(), r.settings()
	out.Write(line)
	writeArray(out, &sources)
	line = append(line[:0], ",\n\"settings\":"...)
	line = appendRow(line, &settings, keysOf(&settings), 0)
	line = append(line, ",\n"...)
	line = append(line, `"caution":`...)
	line = appendString(line, Caution)
	out.Write(line)
	for i := range arrays {
		out.WriteString(",\n")
		writeArray(out, &arrays[i])
	}
	out.WriteString("\n}\n")
	return out.Flush() // a bufio.Writer keeps its first error until here
}

func appendMember(b []byte, name, value string) []byte {
	b = append(appendString(b, name), ':')
	return append(appendString(b, value), ",\n"...)
}

// writeArray writes one named array, a row a line.
func writeArray(out *bufio.Writer, a *array) {
	out.Write(append(appendString(nil, a.name), ':'))
	writeRows(out, a)
}

// writeRows writes the rows of an array between brackets.
func writeRows(out *bufio.Writer, a *array) {
	keys := keysOf(a)
	line := []byte{'['}
	for row := range a.rows {
		if row > 0 {
			line = append(line, ',')
		}
		line = append(line, '\n')
		line = appendRow(line, a, keys, row)
		if _, err := out.Write(line); err != nil {
			return // the rest would be work for nothing; Flush reports it
		}
		line = line[:0]
	}
	if a.rows > 0 {
		line = append(line, '\n')
	}
	out.Write(append(line, ']'))
}

// key is one filed field of an array with its name ready to be written.
type key struct {
	field int
	text  []byte // `{"first":` or `,"other":`
}

func keysOf(a *array) []key {
	var keys []key
	before := byte('{')
	for _, i := range a.filed() {
		text := append(appendString([]byte{before}, a.fields[i].name), ':')
		keys = append(keys, key{i, text})
		before = ','
	}
	return keys
}

func appendRow(b []byte, a *array, keys []key, row int) []byte {
	for i := range keys {
		b = append(b, keys[i].text...)
		b = appendCell(b, a.cell(row, keys[i].field))
	}
	return append(b, '}')
}

func appendCell(b []byte, c cell) []byte {
	switch c.form {
	case isText:
		return appendString(b, c.text)
	case isMoment:
		return appendString(b, momentText(c.moment))
	case isNumber:
		return appendNumber(b, c.number)
	case isTruth:
		return appendTruth(b, c)
	case isList:
		return appendList(b, c.list)
	case isObject:
		return appendRow(b, c.object, keysOf(c.object), 0)
	case isObjects:
		return appendObjects(b, c.object)
	default:
		return append(b, "null"...)
	}
}

func appendObjects(b []byte, of *array) []byte {
	keys := keysOf(of)
	b = append(b, '[')
	for row := range of.rows {
		if row > 0 {
			b = append(b, ',')
		}
		b = appendRow(b, of, keys, row)
	}
	return append(b, ']')
}

func appendTruth(b []byte, c cell) []byte {
	if c.number != 0 {
		return append(b, "true"...)
	}
	return append(b, "false"...)
}

func appendList(b []byte, of []string) []byte {
	b = append(b, '[')
	for i, s := range of {
		if i > 0 {
			b = append(b, ',')
		}
		b = appendString(b, s)
	}
	return append(b, ']')
}

// appendString appends s as a JSON string (RFC 8259, section 7). Bytes that
// are no UTF-8 become the replacement character.
func appendString(b []byte, s string) []byte {
	b = append(b, '"')
	from := 0
	for i := 0; i < len(s); {
		c := s[i]
		if c >= ' ' && c != '"' && c != '\\' && c < utf8.RuneSelf {
			i++
			continue
		}
		size := 1
		if c >= utf8.RuneSelf {
			var r rune
			if r, size = utf8.DecodeRuneInString(s[i:]); r != utf8.RuneError || size > 1 {
				i += size
				continue
			}
		}
		b = append(b, s[from:i]...)
		b = appendEscaped(b, c)
		i += size
		from = i
	}
	b = append(b, s[from:]...)
	return append(b, '"')
}

func appendEscaped(b []byte, c byte) []byte {
	const hex = "0123456789abcdef"
	switch {
	case c == '"' || c == '\\':
		return append(b, '\\', c)
	case c == '\n':
		return append(b, `\n`...)
	case c == '\r':
		return append(b, `\r`...)
	case c == '\t':
		return append(b, `\t`...)
	case c < ' ':
		return append(b, '\\', 'u', '0', '0', hex[c>>4], hex[c&15])
	default:
		return append(b, `\ufffd`...)
	}
}
