package survey

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"airtally/exposure/finding"
)

// labSurvey reads the plain survey without its lab table and adds a file of a
// laboratory, with a mapping where one is given.
func labSurvey(t testing.TB, export, mapping string, files ...string) (*Survey, []string, error) {
	t.Helper()
	all := with(files...)
	if !slices.Contains(files, "lab.csv") {
		delete(all, "lab.csv")
	}
	dir, labDir := writeFolder(t, all), t.TempDir()
	s, list, err := Disk.LabApart().Read(dir)
	require.NoError(t, err)
	path := filepath.Join(labDir, "export.csv")
	require.NoError(t, os.WriteFile(path, []byte(export), 0o644))
	if mapping != "" {
		require.NoError(t, os.WriteFile(filepath.Join(labDir, "export.toml"), []byte(mapping), 0o644))
	}
	_, more, err := Disk.AddLab([]*Survey{s}, LabPath{File: path})
	list.Merge(more)
	return s, lines(list, labDir), err
}

const mappingHead = "kind = \"airtally/map/1\"\n[headings]\nNo = \"sample\"\nStuff = \"analyte\"\nFound = \"result\"\nIn = \"unit\"\n"

// read writes the rows of a survey's lab table, one a line.
func labLines(s *Survey) []string {
	var all []string
	for i := range s.Lab {
		l := &s.Lab[i]
		all = append(all, fmt.Sprintf("%s %s %s %v%g %s q%d", l.Sample, l.Analyte, l.Section, l.Kind, l.Value, l.Unit.Name, l.Qualifiers))
	}
	return all
}

// What a mapping must not leave open or say wrongly is refused with its line,
// all of it at once.
func TestMappingsThatAreRefused(t *testing.T) {
	export := "No,Stuff,Found,In\nS-1,Lead,1.5,ug\n"
	for _, c := range []struct{ name, mapping, want string }{
		{"an unknown key", mappingHead + "[colums]\na = \"b\"\n", "line 7: colums is not known in a mapping"},
		{"an unknown key of a table", mappingHead + "[table]\nsheets = \"A\"\n", "line 8: table.sheets is not known in a mapping; the nearest known one is table.sheet"},
		{"no TOML", "kind = airtally\n", "line 1, character 8: is not written as TOML wants it"},
		{"another kind", strings.Replace(mappingHead, "map/1", "map/9", 1), `line 1: is a mapping of the kind "airtally/map/9"; expected "airtally/map/1"`},
		{"a column that is none", strings.Replace(mappingHead, `"result"`, `"results"`, 1), `line 5: "Found" is to be "results", which is no column of the lab table; the nearest known one is result`},
		{"a doubt", strings.Replace(mappingHead, `"result"`, `"?"`, 1), `line 5: "Found" is not decided`},
		{"a doubt among the words", mappingHead + "[qualifiers]\n\"*\" = \"?\"\n", `line 8: "*" is not decided`},
		{"a rule that is not decided", mappingHead + "[[skip]]\nheading = \"No\"\nbegins = [\"QC\"]\ndecided = \"?\"\n", `line 7: the rule to skip rows by "No" is not decided`},
		{"a rule without a way", mappingHead + "[[skip]]\nheading = \"No\"\n", `a rule to skip rows (heading "No") does not say which`},
		{"two headings of one column", mappingHead + "Id = \"sample\"\n", `"Id" and "No" are both sample`},
		{"no result", strings.Replace(mappingHead, `"result"`, `"note"`, 1), "has no heading that is a result"},
		{"no unit", strings.Replace(mappingHead, "In = \"unit\"\n", "", 1), `does not say which unit the results under "Found" have`},
		{"a unit that is none", mappingHead + "[units]\n\"lb\" = \"pounds\"\n", `"pounds" is not a known unit`},
		{"a meaning that is none", mappingHead + "[qualifiers]\nK = \"estimate\"\n", `line 8: K is "estimate"; the nearest known one is estimated`},
		{"a section that is none", mappingHead + "[suffixes]\n\"-F\" = \"fore\"\n", `-F is "fore"`},
		{"an order that is none", mappingHead + "[table]\ndates = \"dd.mm.yyyy\"\n", `line 8: dates is "dd.mm.yyyy"`},
		{"a constant that cannot be", mappingHead + "[constants]\nresult = \"1\"\n", `constants name "result"`},
		{"a false CAS number", strings.Replace(mappingHead, `"result"`, `{ column = "result", cas = "7439-92-2" }`, 1), "its check digit should be 1"},
		{"a word within a heading", strings.Replace(mappingHead, `"result"`, `{ column = "result", units = "ug" }`, 1), `"Found" has units, which is not known; the nearest known one is unit`},
		{"a heading of another result", mappingHead + "RL = { column = \"reporting_limit\", of = \"Fund\" }\n", `"RL" is of "Fund", which is no column of results`},
		{"a heading that the file lacks", mappingHead + "RL = \"reporting_limit\"\n", `has no row with all the headings that the mapping`},
		{"a sheet that the file lacks", mappingHead + "[table]\nsheet = \"Data\"\n", `has no sheet "Data"`},
		{"a constant beside its heading", mappingHead + "[constants]\nunit = \"mg\"\n", "constants give unit, and so does a heading"},
		{"a section of a sample", strings.Replace(mappingHead, `"sample"`, `{ column = "sample", section = "front" }`, 1), `"No" is sample; beside that it can only say of which result`},
		{"a number for a column", strings.Replace(mappingHead, `"result"`, `7`, 1), `"Found" is to be a column, not 7`},
	} {
		_, _, err := labSurvey(t, export, c.mapping)
		var unusable *UnusableError
		require.ErrorAs(t, err, &unusable, c.name)
		assert.Contains(t, err.Error(), c.want, c.name)
	}
	_, _, err := labSurvey(t, export, strings.NewReplacer(`"result"`, `"?"`, `"unit"`, `"unt"`).Replace(mappingHead))
	require.Contains(t, err.Error(), "line 5")
	require.Contains(t, err.Error(), "line 6")
	_, _, err = labSurvey(t, export, mappingHead)
	require.NoError(t, err)
}

// What cells hold, in the words of a mapping, is read as a lab table's.
func TestCellsInTheWordsOfAMapping(t *testing.T) {
	for _, c := range []struct {
		name, export, more string
		want               []string
		findings           []string
	}{
		{"words in place of a result", "No,Stuff,Found,In\nS-1,Lead,n. n.,ug\nS-1,Zinc,trace,ug\n", "[qualifiers]\n\"n.n.\" = \"not-detected\"\n\"n. n.\" = \"not-detected\"\n",
			[]string{"S-1 Lead  20 ug q1"}, []string{`stop unreadable-result export.csv:export!C3 [S-1, Zinc] Found "trace" is not a result`}},
		{"letters behind a result", "No,Stuff,Found,In\nS-1,Lead,1.5 *,ug\nS-1,Zinc,2.5 K,ug\n", "[qualifiers]\n\"*\" = \"estimated\"\nK = \"under\"\n",
			[]string{"S-1 Lead  01.5 ug q2", "S-1 Zinc  12.5 ug q0"}, nil},
		{"a unit of the laboratory", "No,Stuff,Found,In\nS-1,Lead,1.5,µg/Röhre\n", "[units]\n\"µg/Röhre\" = \"ug\"\n", []string{"S-1 Lead  01.5 ug q0"}, nil},
		{"a stated decimal comma", "No;Stuff;Found;In\nS-1;Lead;1,550;ug\n", "[table]\ndecimal = \",\"\n", []string{"S-1 Lead  01.55 ug q0"}, nil},
		{"a stated decimal point", "No;Stuff;Found;In\nS-1;Lead;1,550;ug\n", "[table]\ndecimal = \".\"\n", []string{"S-1 Lead  01550 ug q0"}, nil},
		{"sample numbers filled down", "No,Stuff,Found,In\nS-1,Lead,1.5,ug\n,Zinc,2.5,ug\n", "[table]\nfill_down = [\"No\"]\n",
			[]string{"S-1 Lead  01.5 ug q0", "S-1 Zinc  02.5 ug q0"}, nil},
		{"ends of sample numbers", "No,Stuff,Found,In\nS-1 front,Lead,1.5,ug\nS-1 BACK,Lead,<1,ug\nS-1,Zinc,2,ug\n", "[suffixes]\n\" front\" = \"front\"\n\" back\" = \"back\"\n",
			[]string{"S-1 Lead front 01.5 ug q0", "S-1 Lead back 11 ug q0", "S-1 Zinc  02 ug q0"}, nil},
		{"an end and a section that differ", "No,Stuff,Found,In,Part\nS-1-F,Lead,1.5,ug,h\n", "[suffixes]\n\"-F\" = \"front\"\n[sections]\nh = \"back\"\n",
			nil, []string{`stop unknown-choice export.csv:export!E2 [S-1, Lead] Part "h" is not one of front, back, pre, post`}},
		{"a name of the mapping", "No,Stuff,Found,In\nS-1,Plomb,1.5,ug\n", "[analytes]\nplomb = \"Lead\"\n", []string{"S-1 Lead  01.5 ug q0"}, nil},
		{"cells that say nothing", "No,Stuff,Found,In\n,Lead,1.5,ug\nS-1,,1.5,ug\nS-1,Lead,,ug\n", "", nil,
			[]string{"stop missing-value export.csv:export!A2", "stop missing-value export.csv:export!B3", "stop missing-value export.csv:export!C4"}},
		{"a cell too many", "No,Stuff,Found,In\nS-1,Lead,1,5,ug\n", "", nil, []string{"stop long-row export.csv:export row 2"}},
	} {
		mapping := mappingHead + c.more
		if strings.Contains(c.export, "Part") {
			mapping = mappingHead + "Part = \"section\"\n" + c.more
		}
		s, findings, err := labSurvey(t, c.export, mapping)
		require.NoError(t, err, c.name)
		assert.Equal(t, c.want, labLines(s), c.name)
		assert.Len(t, findings, len(c.findings), "%s: %v", c.name, findings)
		for i := range min(len(findings), len(c.findings)) {
			assert.Contains(t, findings[i], c.findings[i], c.name)
		}
	}
}

// Dates in the mapping's order; those that do not fit it are told of.
func TestDatesInTheMappingsOrder(t *testing.T) {
	for _, c := range []struct{ order, text, want string }{
		{"day-month-year", "07.05.2026", "2026-05-07"},
		{"day-month-year", "7/5/26", "2026-05-07"},
		{"month-day-year", "05/07/2026", "2026-05-07"},
		{"year-month-day", "2026/05/07", "2026-05-07"},
		{"day-month-year", "07-May-2026", "2026-05-07"},
		{"day-month-year", "07.05.2026 13:40", "2026-05-07 13:40"},
		{"day-month-year", "05/13/2026", "05/13/2026"},
		{"month-day-year", "31/02/2026", "31/02/2026"},
		{"day-month-year", "soon", "soon"},
	} {
		m := Mapping{Table: MappedTable{Dates: c.order}}
		require.Equal(t, c.want, m.dateCell(cell{text: c.text}).text, c)
	}
	mapping := mappingHead + "On = \"analysed\"\n[table]\ndates = \"day-month-year\"\n"
	s, findings, err := labSurvey(t, "No,Stuff,Found,In,On\nS-1,Lead,1,ug,07.05.2026\nS-1,Zinc,1,ug,05/13/2026\n", mapping)
	require.NoError(t, err)
	require.Equal(t, "2026-05-07", s.Lab[0].Analysed.T.Format("2006-01-02"))
	require.False(t, s.Lab[1].Analysed.Known)
	require.Len(t, findings, 1)
	require.Contains(t, findings[0], `unreadable-date export.csv:export!E3 [S-1, Zinc] On "05/13/2026"`)
}

// Analytes take the survey's names by CAS number, name and synonym, and only
// where one of them is meant. CAS numbers and synonyms: the entries of the
// library of limits, whose sources stand there.
func TestAnalytesTakeTheSurveysNames(t *testing.T) {
	for _, c := range []struct {
		name, written, cas, survey, want, code string
	}{
		{"the same name", "Toluene", "", "Toluene", "Toluene", ""},
		{"by CAS number", "Methylbenzol", "108-88-3", "Toluene", "Toluene", "lab-analyte-named"},
		{"by name in other letters", "TOLUENE", "", "Toluene", "Toluene", "lab-analyte-named"},
		{"by synonym", "Toluol", "", "Toluene", "Toluene", "lab-analyte-named"},
		{"a letter apart", "Chlorine", "", "Chloride", "Chlorine", "lab-analyte-doubtful"},
		{"a slip of the pen", "Tolune", "", "Toluene", "Tolune", "lab-analyte-doubtful"},
		{"another substance of a like name", "Ethanol", "64-17-5", "Methanol", "Ethanol", ""},
		{"a name against its CAS number", "Toluene!", "71-43-2", "Toluene", "Toluene!", "lab-analyte-doubtful"},
		{"a CAS number that is wrong", "Methylbenzol", "108-88-4", "Toluene", "Methylbenzol", "cas-invalid"},
		{"nothing alike", "Zinc", "", "Toluene", "Zinc", ""},
	} {
		export := fmt.Sprintf("No,Stuff,Found,In,CAS\nS-1,%s,1.5,ug,%s\n", c.written, c.cas)
		s, findings, err := labSurvey(t, export, mappingHead+"CAS = \"cas\"\n", "mixtures.csv", "mixture,analyte\nSolvents,"+c.survey+"\n")
		require.NoError(t, err, c.name)
		require.Equal(t, c.want, s.Lab[0].Analyte, c.name)
		if c.code == "" {
			require.Empty(t, findings, c.name)
			continue
		}
		require.Contains(t, strings.Join(findings, "\n"), c.code+" export.csv:export!", c.name)
	}
}

// A result of a sample that two surveys have is left out; others go where
// their sample is.
func TestResultsGoToTheSurveyOfTheirSample(t *testing.T) {
	read := func(sample string) *Survey {
		files := with("samples.csv", "sample,kind,train,leg\nS-1,personal,T1,A\n"+sample+",personal,T1,A\n")
		delete(files, "lab.csv")
		s, _, err := Disk.LabApart().Read(writeFolder(t, files))
		require.NoError(t, err)
		return s
	}
	first, second := read("S-2"), read("S-3")
	path := filepath.Join(writeFolder(t, map[string]string{"lab.csv": "sample,analyte,result,unit\nS-1,Lead,1,ug\nS-2,Lead,2,ug\nS-3,Lead,3,ug\nS-9,Lead,9,ug\n"}), "lab.csv")
	_, list, err := Disk.AddLab([]*Survey{first, second}, LabPath{File: path})
	require.NoError(t, err)
	require.Equal(t, []string{"S-2 Lead  02 ug q0", "S-9 Lead  09 ug q0"}, labLines(first))
	require.Equal(t, []string{"S-3 Lead  03 ug q0"}, labLines(second))
	found := list.Sorted()
	require.Len(t, found, 1)
	require.Equal(t, finding.LabSampleTwice, found[0].Code)
	require.Equal(t, "A2", found[0].Cell)
}

// Each row below the headings is read, or a finding names it.
func TestNoRowIsDroppedWithoutAFinding(t *testing.T) {
	words := rapid.SampledFrom([]string{"S-1", "S-1-F", "S-1-B", "Total", "QC-3", "", "", "1.5", "<0,5", "n.n.", "ND", "U", "*", "ug", "mg", "front", "hinten", "Lead", "x", "-", "12.05.2026", "7439-92-1", "note; of", "No"})
	mappings := []string{
		mappingHead,
		mappingHead + "Q = \"qualifier\"\n[qualifiers]\n\"*\" = \"estimated\"\n\"n.n.\" = \"not-detected\"\n[suffixes]\n\"-F\" = \"front\"\n\"-B\" = \"back\"\n[[skip]]\nheading = \"No\"\nbegins = [\"Total\"]\n",
		"kind = \"airtally/map/1\"\n[table]\nnotes = \"skip\"\nfill_down = [\"No\"]\n[headings]\nNo = \"sample\"\nStuff = \"analyte\"\nFound = { column = \"result\", section = \"front\", unit = \"ug\" }\nQ = { column = \"result\", section = \"back\", unit = \"ug\" }\n[[skip]]\nheading = \"In\"\nempty = true\n",
	}
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.SliceOfN(words, 0, 6), 0, 8).Draw(t, "rows")
		text := "Report\n\nNo;Stuff;Found;In;Q\n"
		for _, row := range rows {
			text += strings.Join(quoted(row), ";") + "\n"
		}
		m, err := parseMapping("m.toml", []byte(rapid.SampledFrom(mappings).Draw(t, "mapping")))
		if err != nil {
			t.Fatal(err)
		}
		list := discard()
		g := newTextGridBy(text, ';')
		tables, err := m.tablesOf("f.csv", []source{{file: "f.csv", name: "f", grid: g}}, func(id string) bool { return id == "S-1" }, list)
		if err != nil {
			t.Fatal(err)
		}
		named := map[int32]bool{}
		for _, table := range tables {
			for _, l := range readRows(table, clockOf(nil, list), list, bindLab) {
				named[l.Row] = true
			}
		}
		for _, f := range list.Sorted() {
			named[int32(f.Row)] = true
			for _, row := range rowsIn(f.Message) {
				named[row] = true
			}
		}
		for _, row := range g.rows() {
			if countFilled(g.read(row, nil)) > 0 && row > 3 && !named[row] {
				t.Fatalf("row %d is neither read nor told of:\n%s", row, text)
			}
		}
	})
}

func quoted(row []string) []string {
	out := slices.Clone(row)
	for i := range out {
		if strings.Contains(out[i], ";") {
			out[i] = strconv.Quote(out[i])
		}
	}
	return out
}

// rowsIn returns the rows that a message names: "rows 3, 5–7".
func rowsIn(message string) []int32 {
	_, after, found := strings.Cut(message, "row")
	if !found {
		return nil
	}
	after = strings.TrimLeft(strings.TrimPrefix(after, "s"), " ")
	var all []int32
	for part := range strings.SplitSeq(after, ", ") {
		from, to, isRange := strings.Cut(part, "–")
		low, _, ok := leadingNumber(from)
		if !ok {
			break
		}
		high, rest, _ := leadingNumber(to)
		if !isRange {
			_, rest, _ = leadingNumber(from)
			high = low
		}
		for row := low; row <= high; row++ {
			all = append(all, int32(row))
		}
		if rest != "" {
			break
		}
	}
	return all
}

func leadingNumber(text string) (n int, rest string, ok bool) {
	end := 0
	for end < len(text) && text[end] >= '0' && text[end] <= '9' {
		end++
	}
	n, err := strconv.Atoi(text[:end])
	return n, text[end:], err == nil
}

// Any text is proposed for or refused, never a panic; and whatever is read
// without a mapping has no row unspoken.
func FuzzPropose(f *testing.F) {
	for _, seed := range []string{
		"sample,analyte,result,unit\nS-1,Lead,1,ug\n",
		"Report 7\n\nProbe;Stoff;Menge (µg);BG\nS-1;Blei;1,5;0,5\n* note\n",
		"Client ID\tToluene front\tToluene back\n\tµg\tµg\nS-1\t1\t<1\n",
		"sample,result,result,unit,analyte\n\"S-1,1,2,ug,Lead\n",
		"sep=|\nsample|analyte|result|unit\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		decoded, _ := decodeText([]byte(text))
		sources := []source{{file: "f.csv", name: "f", grid: newTextGrid(decoded)}}
		p, err := propose("f.csv", sources, "")
		if err != nil || len(p.Doubts()) > 0 {
			return
		}
		tables, err := p.mapping().tablesOf("f.csv", sources, func(string) bool { return false }, discard())
		if err != nil {
			return
		}
		for _, table := range tables {
			readRows(table, clockOf(nil, discard()), discard(), bindLab)
		}
	})
}

// Any text is a mapping or refused, never a panic.
func FuzzMapping(f *testing.F) {
	for _, seed := range []string{mappingHead, mappingHead + "[[skip]]\nheading = \"No\"\nis = [\"x\"]\n", "[headings]\na = { column = \"result\", of = 3 }\n[headings.b]\nc = 1979-05-27\n", "a.b.c = []\n"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		m, err := parseMapping("m.toml", []byte(text))
		if err != nil {
			return
		}
		list := discard()
		tables, err := m.tablesOf("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid("No,Stuff,Found,In\nS-1,Lead,1.5,ug\n")}}, func(string) bool { return true }, list)
		if err != nil {
			return
		}
		for _, table := range tables {
			readRows(table, clockOf(nil, list), list, bindLab)
		}
	})
}

// No word stands for two things: which of them is meant would be left to chance.
func TestHeadingWordsMeanOneThing(t *testing.T) {
	for _, words := range []map[string][]string{headingWords, sectionWords, qualifierMeanings} {
		meant := map[string]string{}
		for column, all := range words {
			for _, word := range all {
				key := simplify(word)
				if key == "" {
					key = word
				}
				if before, met := meant[key]; met && before != column {
					t.Errorf("%q is %s and %s", word, before, column)
				}
				meant[key] = column
			}
		}
	}
	for column := range headingWords {
		_, known := labDescription.Column(column)
		require.True(t, known || slices.Contains([]string{Unused, detectionLimit, sumOfSections}, column), column)
	}
}

// labRow is one result of an invented table, and how it must be read.
type labRow struct{ sample, analyte, section, result, want string }

// drawnTable draws results of a few samples, sections and analytes.
func drawnTable(t *rapid.T) []labRow {
	var rows []labRow
	tube := rapid.Bool().Draw(t, "tube")
	for i := range rapid.IntRange(1, 4).Draw(t, "samples") {
		for _, analyte := range []string{"Toluene", "Benzene"} {
			sections := []string{""}
			if tube {
				sections = []string{"front", "back"}
			}
			for _, section := range sections {
				hundredths := rapid.IntRange(1, 99999).Draw(t, "result")
				r := labRow{sample: fmt.Sprintf("K-%d", 11+i), analyte: analyte, section: section, result: fmt.Sprintf("%d.%02d", hundredths/100, hundredths%100)}
				kind := 0
				if rapid.IntRange(0, 3).Draw(t, "found") == 0 {
					kind, r.result = int(LessThan), "<"+r.result
				}
				r.want = fmt.Sprintf("%s %s %s %d%g", r.sample, r.analyte, section, kind, float64(hundredths)/100)
				rows = append(rows, r)
			}
		}
	}
	return rows
}

// drawnLayout writes a table as some laboratory might: headings of any
// language, in any order, with other columns among them, titles above and a
// note below, decimal commas, sections in a column, side by side or at the end
// of the sample's number.
func drawnLayout(t *rapid.T, rows []labRow) string {
	word := func(column string) string {
		w := rapid.SampledFrom(headingWords[column]).Draw(t, column)
		if rapid.IntRange(0, 5).Draw(t, "decorated") > 0 {
			return w
		}
		return rapid.SampledFrom([]string{"Final " + w, w + " 2", w + " (as reported)", "Lab " + w, w + " total", "Blank " + w, w + " %"}).Draw(t, "decoration")
	}
	delimiter, comma := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "delimiter"), false
	if delimiter != "," {
		comma = rapid.Bool().Draw(t, "comma")
	}
	number := func(text string) string {
		if comma {
			return strings.Replace(text, ".", ",", 1)
		}
		return text
	}
	type column struct {
		heading string
		cell    func(r *labRow) string
	}
	unitInHeading := rapid.Bool().Draw(t, "unit in the heading")
	result := word("result")
	if unitInHeading {
		result += rapid.SampledFrom([]string{" (µg)", " [ug]", " µg/sample", ", ug"}).Draw(t, "unit")
	}
	if strings.Contains(result, delimiter) {
		result = `"` + result + `"`
	}
	columns := []column{
		{word("sample"), func(r *labRow) string { return r.sample }},
		{word("analyte"), func(r *labRow) string { return r.analyte }},
		{result, func(r *labRow) string { return number(r.result) }},
	}
	if !unitInHeading {
		columns = append(columns, column{word("unit"), func(*labRow) string { return "µg" }})
	}
	if rows[0].section != "" {
		columns = append(columns, column{word("section"), func(r *labRow) string { return rapid.SampledFrom(sectionWords[r.section]).Draw(t, "section") }})
	}
	if rapid.Bool().Draw(t, "method") {
		columns = append(columns, column{word("method"), func(*labRow) string { return "NIOSH 1501" }})
	}
	if rapid.Bool().Draw(t, "laboratory's number") {
		columns = append(columns, column{rapid.SampledFrom(headingWords[Unused]).Draw(t, "unused"), func(*labRow) string { return "0417" }})
	}
	if rapid.IntRange(0, 2).Draw(t, "trap") == 0 {
		heading := rapid.SampledFrom([]string{"Conc (mg/m3)", "Uncertainty %", "Blank", "LOD", "Air vol", "Amount 2", "µg", "Benzene", "Rear", "RL", "Sum", "Factor"}).Draw(t, "trap heading")
		columns = append(columns, column{heading, func(*labRow) string { return "77" }})
	}
	columns = rapid.Permutation(columns).Draw(t, "columns")
	text := rapid.SampledFrom([]string{"", "Report 0417\n\n", "Works at Quillow Bay; hall 3, line 2\n\nOstmere\n"}).Draw(t, "title")
	line := func(cell func(c column) string) {
		var cells []string
		for _, c := range columns {
			cells = append(cells, cell(c))
		}
		text += strings.Join(cells, delimiter) + "\n"
	}
	line(func(c column) string { return c.heading })
	for i := range rows {
		line(func(c column) string { return c.cell(&rows[i]) })
	}
	return text + rapid.SampledFrom([]string{"", "\n* as received\n"}).Draw(t, "note")
}

// What is read without a mapping is read rightly: the proposal either leaves
// something to decide, or gives every row as it was meant.
func TestWhatIsNotDoubtedIsRight(t *testing.T) {
	sure, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		rows := drawnTable(t)
		text := drawnLayout(t, rows)
		g := newTextGrid(text)
		sources := []source{{file: "f.csv", name: "f", grid: newTextGridBy(text, delimiterOf(g))}}
		all++
		p, err := propose("f.csv", sources, "")
		if err != nil || len(p.Doubts()) > 0 {
			return
		}
		sure++
		list := discard()
		tables, err := p.mapping().tablesOf("f.csv", sources, func(string) bool { return true }, list)
		if err != nil {
			t.Fatal(err)
		}
		findStyles(tables, list)
		var got, want []string
		for _, table := range tables {
			for _, l := range readRows(table, clockOf(nil, list), list, bindLab) {
				got = append(got, fmt.Sprintf("%s %s %s %d%g", l.Sample, l.Analyte, l.Section, l.Kind, l.Value))
				if l.Unit.Name != "ug" {
					t.Fatalf("unit %s:\n%s", l.Unit.Name, text)
				}
			}
		}
		for _, r := range rows {
			want = append(want, r.want)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("read\n%s\nwant\n%s\nof\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"), text)
		}
	})
	require.Greater(t, sure, all/10, "many layouts are to be understood")
	t.Logf("%d of %d understood", sure, all)
}

// A column without a heading is named by its letter; one that the mapping does
// not name is told of where it holds something.
func TestColumnsWithoutAHeading(t *testing.T) {
	export := "No,Stuff,Found,,In,,\nS-1,Lead,1.5,U,ug,,\n"
	_, findings, err := labSurvey(t, export, mappingHead)
	require.NoError(t, err)
	require.Len(t, findings, 1)
	require.Contains(t, findings[0], `check lab-column-new export.csv:export!D1 [] the heading "column D" is not in the mapping`)
	s, findings, err := labSurvey(t, export, mappingHead+"\"column D\" = \"qualifier\"\n[qualifiers]\nU = \"not-detected\"\n")
	require.NoError(t, err)
	require.Empty(t, findings)
	require.True(t, s.Lab[0].Qualifiers.Has(U))
}

// A lab table that is only headings is none where the laboratory's file has the
// results.
func TestAnEmptyLabTableBesideAFile(t *testing.T) {
	s, findings, err := labSurvey(t, "No,Stuff,Found,In\nS-1,Lead,1.5,ug\n", mappingHead, "lab.csv", "sample,analyte,result,unit\n")
	require.NoError(t, err)
	require.Empty(t, findings)
	require.Len(t, s.Lab, 1)
}

// What the cells or headings leave open is left to a person, with what speaks
// for which.
func TestWhatProposalsLeaveOpen(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"dates in two orders", "Sample,Analyte,Result (ug),Received\nS-1,Lead,1.5,05/07/2026\nS-2,Lead,2.5,06/08/2026\n", `"dates": day-month-year or month-day-year?`},
		{"numbers in two readings", "Sample;Analyte;Result (ug)\nS-1;Lead;1.550\nS-2;Lead;2.250\n", `"decimal": "," or "."? "1.550" can be read as two numbers`},
		{"a mass and a concentration", "Sample,Analyte,Amount (ug),Conc (mg/m3)\nS-1,Lead,1.5,0.02\n", `"Amount (ug)": 1.5; "Amount (ug)" and "Conc (mg/m3)" hold results`},
		{"a detection limit alone", "Sample,Analyte,Result (ug),LOD\nS-1,Lead,1.5,0.02\n", `"LOD": 0.02; "reporting_limit" if results under it are reported as not found`},
		{"samples above their results", "Sample,Analyte,Result (ug)\nS-1,Lead,1.5\n,Zinc,2.5\n,Tin,3.5\n", `"fill_down": 2 of 3 rows have no sample: ["Sample"]`},
		{"a heading that says nothing", "Sample,Analyte,Result (ug),Kappa\nS-1,Lead,1.5,0.7\n", `"Kappa": 0.7; not known: "result", another column, or "-"? Its cells hold numbers`},
		{"letters under no heading", "Sample,Analyte,Result (ug),,RL\nS-1,Lead,1.5,U,0.5\n", `"column D": U; not known: "qualifier" or "-"? Its cells hold letters alone`},
		{"an analyte that is not known", "Sample,Lead (ug),Kryptin (ug)\nS-1,1.5,0.5\n", `not known: { column = "result", analyte = "Kryptin", unit = "ug" } or "-"?`},
		{"letters without a meaning", "Sample,Analyte,Result (ug),Flag\nS-1,Lead,1.5,H\n", `qualifier "H": not-detected, under, estimated`},
		{"letters beside results", "Sample,Analyte,Result (ug),Mark\nS-1,Lead,1.5,J\n", `"qualifier" or "-"? Its cells hold letters alone`},
		{"yes and no", "Sample,Analyte,Result (ug),Corrected\nS-1,Lead,1.5,yes\n", `"desorption_applied", "blank_applied" or "-"?`},
		{"no unit", "Sample,Analyte,Result\nS-1,Lead,1.5\n", `constant "unit": no heading gives the unit`},
		{"a unit that is not known", "Sample,Analyte,Result,Unit\nS-1,Lead,1.5,ug\nS-2,Lead,1.5,grains\n", `unit "grains": which unit of a lab table is it?`},
		{"a word for no section", "Sample,Analyte,Result (ug),Section\nS-1,Lead,1.5,middle\n", `section "middle": front, back, pre, post?`},
		{"ends that may be legs", "Sample,Analyte,Result (ug)\nS1-A,Lead,1\nS1-B,Lead,1\nS2-A,Lead,1\nS2-B,Lead,1\n", `suffix "-A": front? 2 sample numbers stand with both ends`},
		{"samples of the laboratory", "Sample,Analyte,Result (ug)\nS-1,Lead,1.5\nLCS 7,Lead,98\n", `skip "Sample": "yes" if these are the laboratory's own samples, none of the survey: row 3`},
		{"two numbers of a sample", "Sample No,Sample Ref,Analyte,Result (ug)\nS-1,K-1,Lead,1.5\n", `"Sample No" and "Sample Ref" mean sample: which?`},
		{"one qualifier for two sections", "Sample,Analyte,Front (ug),Back (ug),Flag\nS-1,Toluene,1.5,<1,J\n", `{ column = "qualifier", of = "Front (ug)" } for one alone?`},
		{"cells that are no results", "Sample,Analyte,Result (ug)\nS-1,Lead,fine\nS-2,Lead,poor\n", `"Result (ug)": fine, poor; few of its cells are results`},
		{"no result at all", "Sample,Analyte,Method,Unit\nS-1,Lead,M-7,ug\n", "no heading is understood as the result"},
	} {
		p, err := propose("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid(c.text)}}, "")
		require.NoError(t, err, c.name)
		assert.Contains(t, strings.Join(p.Doubts(), "\n"), c.want, c.name)
	}
	both, err := propose("f.xlsx", []source{
		{file: "f.xlsx", name: "One", grid: newTextGrid("Sample,Analyte,Result (ug)\nS-1,Lead,1\n")},
		{file: "f.xlsx", name: "Two", grid: newTextGrid("Sample,Analyte,Amount (ug)\nS-1,Lead,1\n")}}, "")
	require.NoError(t, err)
	require.Contains(t, strings.Join(both.Doubts(), "\n"), "One, or Two: both look like results")
	certain, err := propose("f.csv", []source{{file: "f.csv", name: "f", grid: newTextGrid("Lab ID,Client Sample ID,Sample ID,Analyte,Result (ug),RL\nL-1,S-1,X-1,Lead,1,0.5\n")}}, "")
	require.NoError(t, err)
	require.Len(t, certain.Doubts(), 0, certain.Doubts())
	require.Equal(t, Unused, certain.mapping().Headings["Sample ID"].Column, "the client's number is meant")
}
