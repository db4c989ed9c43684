package reports

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Paper in points: A4 is 297 mm high (ISO 216), Letter 11 inches (ANSI/ASME
// Y14.1).
const (
	a4High     = 297 / 25.4 * 72
	letterHigh = 11 * 72
)

var (
	anchorRows = regexp.MustCompile(`<xdr:row>(\d+)</xdr:row>`)
	breakRows  = regexp.MustCompile(`<brk id="(\d+)"`)
	rowHeights = regexp.MustCompile(`<row r="(\d+)"[^>]* ht="([0-9.]+)"`)
	pageEdges  = regexp.MustCompile(`<pageMargins[^>]* top="([0-9.]+)" bottom="([0-9.]+)"`)
)

func numbersIn(t *testing.T, pattern *regexp.Regexp, xml string) []int {
	t.Helper()
	var all []int
	for _, found := range pattern.FindAllStringSubmatch(xml, -1) {
		n, err := strconv.Atoi(found[1])
		require.NoError(t, err)
		all = append(all, n)
	}
	return all
}

// No chart is cut on paper: each stands between two page breaks, and what is
// between them is no higher than A4 or Letter, at the full size of the sheet; to
// fit the width it is only ever made smaller.
func TestNoChartIsCutOnPaper(t *testing.T) {
	data := workbook(t, demo())
	sheet := sheetPart(t, data, chartSheet)
	assert.Contains(t, sheet, `fitToWidth="1"`)
	assert.Contains(t, sheet, `fitToHeight="0"`)
	edges := pageEdges.FindStringSubmatch(sheet)
	require.Len(t, edges, 3)
	top, _ := strconv.ParseFloat(edges[1], 64)
	bottom, _ := strconv.ParseFloat(edges[2], 64)
	page := min(a4High, letterHigh) - (top+bottom)*72

	heights := map[int]float64{}
	for _, found := range rowHeights.FindAllStringSubmatch(sheet, -1) {
		row, _ := strconv.Atoi(found[1])
		heights[row], _ = strconv.ParseFloat(found[2], 64)
	}
	breaks := append([]int{0}, numbersIn(t, breakRows, sheet)...)
	rows := numbersIn(t, anchorRows, part(t, data, "xl/drawings/drawing1.xml"))
	require.NotEmpty(t, rows)
	for n := 0; n < len(rows); n += 2 {
		first, last := rows[n]+1, rows[n+1]+1 // counted from 1
		begins := 0
		for _, b := range breaks {
			assert.False(t, first <= b && b < last, "a page ends after row %d, in the chart of rows %d to %d", b, first, last)
			if b < first {
				begins = b
			}
		}
		high := 0.0
		for row := begins + 1; row <= last; row++ {
			require.Positive(t, heights[row], "the height of row %d is left to the program", row)
			high += heights[row]
		}
		assert.LessOrEqual(t, high, page, "the page with the chart of rows %d to %d", first, last)
	}
}

// The breaks of the sheet of charts, with tables of more rows than a page has.
func TestChartsAndTablesBeginPages(t *testing.T) {
	table := func(at, rows int) *chartTable { return &chartTable{at: at, rows: make([][]any, rows)} }
	for name, c := range map[string]struct {
		charts int
		tables []*chartTable
		want   []int
	}{
		"one chart":                   {1, []*chartTable{table(24, 5)}, []int{24}},
		"two charts":                  {2, []*chartTable{table(46, 5)}, []int{46}},
		"five charts":                 {5, []*chartTable{table(112, 5)}, []int{46, 90, 112}},
		"a short table after a short": {1, []*chartTable{table(24, 5), table(31, 5)}, []int{24}},
		"a table that would be cut":   {1, []*chartTable{table(24, 30), table(56, 20)}, []int{24, 56}},
		"none of groups":              {1, []*chartTable{table(24, 30), table(0, 0)}, []int{24}},
	} {
		assert.Equal(t, c.want, chartBreaks(c.charts, c.tables), name)
	}
}

// Wide sheets take from their texts what they need to be read on paper, and
// narrow ones are printed upright.
func TestSheetsFitPaper(t *testing.T) {
	long := strings.Repeat("words of a remedy ", 9)
	sheet := func(columns ...header) array {
		return array{fields: columns, rows: 20, cell: func(int, int) cell { return text(long) }}
	}
	sum := func(a array) (total float64) {
		all := make([]int, len(a.fields))
		for i := range all {
			all[i] = i
		}
		for i, w := range a.widths(all) {
			if !a.fields[i].aside {
				total += w
			}
		}
		return total
	}
	what, todo, other := header{heading: "Found", show: prose}, header{heading: "To do", show: prose}, header{heading: "Where"}
	wide := sheet(what, todo, other, other, other)
	assert.InDelta(t, printedWidth, sum(wide), float64(len(wide.fields)))
	assert.Equal(t, 2*proseWidth+widest, sum(sheet(what, todo, other)), "there is room")
	assert.Equal(t, 2*proseWidth+6*widest, sum(sheet(what, todo, other, other, other, other, other, other)), "it would not be enough")
	narrow, across := sheet(what, other), sheet(what, todo)
	assert.Equal(t, "portrait", narrow.orientation([]int{0, 1}))
	assert.Equal(t, "landscape", across.orientation([]int{0, 1}))
}

// Figures that would not go into their columns are told of in fewer letters.
func TestVastFiguresGoIntoTheirColumns(t *testing.T) {
	assert.Equal(t, `[>100]">10000 %"_0;0\ %_0`, formatOf(number(1e9), percent))
	assert.Equal(t, numberFormat(1, true), formatOf(number(0.5), percent))
	assert.Equal(t, "0.00E+00_0", formatOf(number(3.2e11), figures))
	assert.Equal(t, len("1.00E+07"), shownLength(number(3.2e11), figures))
}
