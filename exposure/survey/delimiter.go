package survey

import (
	"strings"
	"sync"
)

// delimiters are what separates the cells of a text, the likeliest first.
var delimiters = []byte{',', ';', '\t', '|'}

// Bounds of the search for the line of the headers.
const (
	mostTitleLines = 30       // filled lines from the top
	longestHeading = 64 << 10 // bytes in a line
)

// sniff returns the delimiter of a text and how many lines to skip: one where
// the first line is the spreadsheet's own "sep=;". Else the delimiter is the
// one that cuts a line into the most headings of input tables, or, where there
// are none, the one that the first line holds most of, outside quotes.
func sniff(text string) (delimiter byte, skip int) {
	first, rest, _ := strings.Cut(text, "\n")
	if named := namedDelimiter(first); named != 0 {
		return named, 1
	}
	if delimiter = headingDelimiter(text); delimiter != 0 {
		return delimiter, 0
	}
	for strings.Trim(first, " \t\r,;|\"") == "" && rest != "" {
		first, rest, _ = strings.Cut(rest, "\n")
	}
	most := 0
	delimiter = delimiters[0]
	for _, d := range delimiters {
		if n := len(cutUnquoted(first, d)) - 1; n > most {
			delimiter, most = d, n
		}
	}
	return delimiter, 0
}

// namedDelimiter returns the delimiter that a line "sep=;" names, 0 where it
// is none. Saved again, the line can be quoted or filled up with delimiters.
func namedDelimiter(line string) byte {
	named, ok := strings.CutPrefix(strings.ToLower(strings.TrimLeft(line, "\"")), "sep=")
	if !ok || named == "" || strings.Trim(named, "\r\""+named[:1]) != "" || strings.ContainsAny(named[:1], "\r\"") {
		return 0
	}
	return named[0]
}

// headingDelimiter returns the delimiter that cuts one of the first lines into
// the most headings of input tables; 0 where no line has two.
func headingDelimiter(text string) byte {
	best, most := byte(0), 1
	for filled := 0; filled < mostTitleLines && text != ""; {
		var line string
		line, text, _ = strings.Cut(text, "\n")
		if len(line) > longestHeading || strings.TrimSpace(line) == "" {
			continue
		}
		filled++
		for _, d := range delimiters {
			n := 0
			for _, c := range cutUnquoted(line, d) {
				if isHeading(strings.Trim(c, "\" \r")) {
					n++
				}
			}
			if n > most {
				best, most = d, n
			}
		}
	}
	return best
}

// cutUnquoted cuts a line at the delimiters that stand outside quotes.
func cutUnquoted(line string, delimiter byte) []string {
	if strings.IndexByte(line, delimiter) < 0 {
		return []string{line}
	}
	var cells []string
	quoted, from := false, 0
	for i := range len(line) {
		switch {
		case line[i] == '"':
			quoted = !quoted
		case line[i] == delimiter && !quoted:
			cells, from = append(cells, line[from:i]), i+1
		}
	}
	return append(cells, line[from:])
}

// everyHeading holds every heading that some table of ours understands.
var everyHeading = sync.OnceValue(func() map[string]bool {
	all := map[string]bool{}
	for _, d := range append([]*Description{listDescription}, descriptions...) {
		for name := range headerNames(d) {
			all[name] = true
		}
	}
	return all
})

// isHeading reports whether a cell is the heading of a column of some table.
func isHeading(cell string) bool {
	name, _ := cutBrackets(cell)
	return everyHeading()[simplify(name)] || everyHeading()[simplify(cell)] || isReading(name)
}
