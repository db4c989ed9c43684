package reports

import (
	"bufio"
	"io"
	"strconv"
	"strings"
)

// writeCSV writes one array as a table (RFC 4180, with plain line feeds). A
// missing cell is empty.
func (a *array) writeCSV(w io.Writer) error {
	out := bufio.NewWriterSize(w, bufferSize)
	filed := a.filed()
	var line []byte
	for i, at := range filed {
		line = appendComma(line, i)
		line = append(line, a.fields[at].name...)
	}
	out.Write(append(line, '\n'))
	for row := range a.rows {
		line = line[:0]
		for i, at := range filed {
			line = appendComma(line, i)
			line = appendPlain(line, a.cell(row, at))
		}
		if _, err := out.Write(append(line, '\n')); err != nil {
			return err
		}
	}
	return out.Flush()
}

func appendComma(b []byte, position int) []byte {
	if position > 0 {
		b = append(b, ',')
	}
	return b
}

func appendPlain(b []byte, c cell) []byte {
	switch c.form {
	case missing:
		return b
	case isNumber:
		return appendNumber(b, c.number)
	case isTruth:
		return appendTruth(b, c)
	default:
		return appendQuoted(b, harmless(c.words()))
	}
}

// harmless returns s so that a spreadsheet that opens the table cannot take it
// for a formula: with a leading apostrophe where it starts as one would and is
// no number.
func harmless(s string) string {
	if startsFormula(s) {
		return "'" + s
	}
	return s
}

func startsFormula(s string) bool {
	return s != "" && strings.IndexByte("=+-@\t\r", s[0]) >= 0 && !plainNumber(s)
}

func plainNumber(s string) bool {
	if strings.Trim(s, "0123456789.+-eE") != "" {
		return false // neither "-inf" nor "+0x1p4", which ParseFloat takes
	}
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

func appendQuoted(b []byte, s string) []byte {
	if !strings.ContainsAny(s, ",\"\r\n") && strings.TrimSpace(s) == s {
		return append(b, s...)
	}
	b = append(b, '"')
	b = append(b, strings.ReplaceAll(s, `"`, `""`)...)
	return append(b, '"')
}
