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
		{"a sign in a column of its own", "No,Stuff,Found,In,Part\nS-1,Lead,1.5,ug,<\nS-1,Zinc,2.5,ug,>\nS-1,Tin,3.5,ug,\n", "[qualifiers]\n\"<\" = \"under\"\n\">\" = \"over\"\n",
			[]string{"S-1 Lead  11.5 ug q0", "S-1 Zinc  32.5 ug q0", "S-1 Tin  03.5 ug q0"}, nil},
		{"a unit of the laboratory", "No,Stuff,Found,In\nS-1,Lead,1.5,µg/Röhre\n", "[units]\n\"µg/Röhre\" = \"ug\"\n", []string{"S-1 Lead  01.5 ug q0"}, nil},
		{"a stated decimal comma", "No;Stuff;Found;In\nS-1;Lead;1,550;ug\n", "[table]\ndecimal = \",\"\n", []string{"S-1 Lead  01.55 ug q0"}, nil},
		{"a stated decimal point", "No;Stuff;Found;In\nS-1;Lead;1,550;ug\n", "[table]\ndecimal = \".\"\n", []string{"S-1 Lead  01550 ug q0"}, nil},
		{"samples side by side", "Stuff,In,S-1,S-2\nLead,ug,1.5,<1\nZinc,ug,2.5,\n", "",
			[]string{"S-1 Lead  01.5 ug q0", "S-1 Zinc  02.5 ug q0", "S-2 Lead  11 ug q0"}, []string{`note lab-cells-empty export.csv:export!D3 [] the cells under "S-2" are empty in row 3`}},
		{"sample numbers filled down", "No,Stuff,Found,In\nS-1,Lead,1.5,ug\n,Zinc,2.5,ug\n", "[table]\nfill_down = [\"No\"]\n",
			[]string{"S-1 Lead  01.5 ug q0", "S-1 Zinc  02.5 ug q0"}, nil},
		{"ends of sample numbers", "No,Stuff,Found,In\nS-1 front,Lead,1.5,ug\nS-1 BACK,Lead,<1,ug\nS-1,Zinc,2,ug\n", "[suffixes]\n\" front\" = \"front\"\n\" back\" = \"back\"\n",
			[]string{"S-1 Lead front 01.5 ug q0", "S-1 Lead back 11 ug q0", "S-1 Zinc  02 ug q0"}, nil},
		{"an end and a section that differ", "No,Stuff,Found,In,Part\nS-1-F,Lead,1.5,ug,h\n", "[suffixes]\n\"-F\" = \"front\"\n[sections]\nh = \"back\"\n",
			nil, []string{`stop unknown-choice export.csv:export!E2 [S-1, Lead] Part "h" is not one of front, back, pre, post`}},
		{"a name of the mapping", "No,Stuff,Found,In\nS-1,Plomb,1.5,ug\n", "[analytes]\nplomb = \"Lead\"\n", []string{"S-1 Lead  01.5 ug q0"}, nil},
		{"cells that say nothing", "No,Stuff,Found,In\n,Lead,1.5,ug\nS-1,,1.5,ug\nS-1,Lead,,ug\n", "", nil,
			[]string{"stop missing-value export.csv:export!A2", "stop missing-value export.csv:export!B3", "stop missing-value export.csv:export!C4"}},
		{"a quotation mark that nothing closes", "No,Stuff,Found,In\nS-1,\"Lead,1.5,ug\n", "", []string{`S-1 "Lead  01.5 ug q0`}, []string{"check stray-quote export.csv:export row 2"}},
		{"no rows", "No,Stuff,Found,In\n", "", nil, []string{"check empty-table export.csv:export"}},
		{"a cell too many", "No,Stuff,Found,In\nS-1,Lead,1,5,ug\n", "", nil, []string{"stop long-row export.csv:export row 2"}},
	} {
		mapping := mappingHead + c.more
		if strings.HasPrefix(c.export, "Stuff") {
			mapping = "kind = \"airtally/map/1\"\n[headings]\nStuff = \"analyte\"\nIn = \"unit\"\nS-1 = { column = \"result\", sample = \"S-1\" }\nS-2 = { column = \"result\", sample = \"S-2\" }\n"
		}
		if strings.Contains(c.export, "Part") {
			column := "section"
			if strings.Contains(c.more, "over") {
				column = "qualifier"
			}
			mapping = mappingHead + "Part = \"" + column + "\"\n" + c.more
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
		{"day-month-year", "05/13/2026", ""},
		{"month-day-year", "31/02/2026", ""},
		{"day-month-year", "soon", ""},
	} {
		mapping := mappingHead + "On = \"analysed\"\n[table]\ndates = \"" + c.order + "\"\n"
		s, _, err := labSurvey(t, "No,Stuff,Found,In,On\nS-1,Lead,1,ug,"+c.text+"\n", mapping)
		require.NoError(t, err)
		got := ""
		if m := s.Lab[0].Analysed; m.Known {
			got = writeMoment(m)
		}
		assert.Equal(t, c.want, got, c)
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
