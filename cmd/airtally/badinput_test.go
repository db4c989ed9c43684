package main

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sound is a survey without a fault, of invented figures: two workers, a
// filter each at 2 L/min for 480 min = 960 L. The second worker's 24 µg are
// 0.025 mg/m³.
var sound = map[string]string{
	"samples": "sample,kind,train,leg,medium,worker,shift,start,stop,purpose\n" +
		"S-1,personal,T1,A,FILTER,W-1,D,2026-03-02 07:00,2026-03-02 15:00,shift\n" +
		"S-2,personal,T2,A,FILTER,W-2,D,2026-03-02 07:00,2026-03-02 15:00,shift\n",
	"flows": "train,leg,stage,readings,unit,taken_at\n" +
		"T1,A,pre,2.0; 2.0; 2.0,L/min,2026-03-02 06:50\nT1,A,post,2.0; 2.0; 2.0,L/min,2026-03-02 15:10\n" +
		"T2,A,pre,2.0; 2.0; 2.0,L/min,2026-03-02 06:50\nT2,A,post,2.0; 2.0; 2.0,L/min,2026-03-02 15:10\n",
	"lab":     "sample,analyte,result,unit,reporting_limit\nS-1,Zorbium,12,ug,0.5\nS-2,Zorbium,24,ug,0.5\n",
	"media":   "medium,form\nFILTER,total\n",
	"workers": "worker,group\nW-1,welders\nW-2,welders\n",
	"shifts":  "shift,worker,start,end\nD,W-1,2026-03-02 07:00,2026-03-02 15:00\nD,W-2,2026-03-02 07:00,2026-03-02 15:00\n",
	"limits":  "analyte,authority,kind,value,unit\nZorbium,House,TWA8,0.05,mg/m3\n",
}

// edited writes the sound survey with one text replaced in one table. A table
// whose text to replace is "" is left out.
func edited(t *testing.T, table, from, to string) string {
	t.Helper()
	folder := t.TempDir()
	tables := maps.Clone(sound)
	if from == "" {
		delete(tables, table)
	} else {
		require.Contains(t, tables[table], from)
		tables[table] = strings.Replace(tables[table], from, to, 1)
	}
	for name, text := range tables {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name+".csv"), []byte(text), 0o666))
	}
	return folder
}

// printed is what a run prints with --json, as far as these tests look.
type printed struct {
	Findings  []map[string]any
	Exposures []map[string]any
}

func reduceJSON(t *testing.T, folder string) (int, printed) {
	t.Helper()
	status, out, errOut := airtally(t, "reduce", folder, "--json")
	require.Empty(t, errOut)
	var p printed
	require.NoError(t, json.Unmarshal([]byte(out), &p))
	return status, p
}

// finding returns the finding of a code as one line: severity, place, subject,
// message and remedy.
func (p printed) finding(t *testing.T, code string) string {
	t.Helper()
	for _, f := range p.Findings {
		if f["code"] == code {
			text := func(name string) string { return f[name].(string) }
			return text("severity") + " " + filepath.Base(text("file")) + " " + text("table") + "!" + text("cell") +
				" [" + text("subject") + "] " + text("message") + " | " + text("remedy")
		}
	}
	t.Errorf("no finding %s among %v", code, p.Findings)
	return ""
}

// twa8 returns the 8-hour average of a worker, and false where there is none.
func (p printed) twa8(worker string) (float64, bool) {
	for _, x := range p.Exposures {
		if x["worker"] == worker && x["basis"] == "twa8" {
			return x["value_mgm3"].(float64), true
		}
	}
	return 0, false
}

// What follows from times that cannot be used is told with them.
const (
	withoutTimes = "; told with it: sample S-1 has neither run_min nor both start and stop; it has no volume; " +
		"a post check of leg T1 A serves no sample: another one comes first, or it was taken before the sample stopped"
	thenAgain = "; then run again: what is still found stands by itself"
)

// Each fault is told of with its cell, what was read, what was expected and
// what to do, and the other worker's result stands.
func TestBadCellsAreToldOfAndTheRestIsReduced(t *testing.T) {
	for _, c := range []struct {
		name, table, from, to string
		status                int
		code, want            string
		lost                  bool // the first worker's average
	}{
		{"a letter in a number", "lab", "12", "1O", leftOut, "unreadable-result",
			`stop lab.csv lab!C2 [S-1, Zorbium] result "1O" is not a result; expected a number, a number after < or >, or ND; the row is left out | ` +
				"write the number alone, such as 1.29 or <0.06, with letters in the qualifier column", true},
		{"no result", "lab", "12", "", leftOut, "missing-value",
			"stop lab.csv lab!C2 [S-1, Zorbium] result is empty; expected the number; <0.06 or ND where not detected; the row is left out | " +
				"fill in the cell, or delete the row if it is not wanted", true},
		{"a date that reads two ways", "samples", "2026-03-02 15:00", "02/03/2026 15:00", leftOut, "ambiguous-date",
			`stop samples.csv samples!I2 [S-1, T1 A] stop "02/03/2026 15:00" can be read in two ways, 2026-02-03 or 2026-03-02: ` +
				"no cell of the table shows the order of day and month; start of the same row is on 2026-03-02; the cell is taken as empty; so in 1 row(s)" + withoutTimes + " | " +
				"write it as yyyy-mm-dd hh:mm, with the time of 24 hours, or use real date cells" + thenAgain, true},
		{"a unit of another country", "lab", "ug", "lb", leftOut, "unreadable-unit",
			`stop lab.csv lab!D2 [S-1, Zorbium] unit "lb" is not a known unit; expected ug, mg, ng, g, fibres, fibres/mm2, ` +
				"or a concentration such as mg/m3, ug/m3, ppm or f/cc; the row is left out | " +
				"write one of the units expected, and convert the numbers if need be", true},
		{"a flow in another unit", "flows", "L/min", "cfm", leftOut, "unreadable-unit",
			`stop flows.csv flows!E2 [T1, A, S-1] unit "cfm" is not a known unit; expected L/min or mL/min; the row is left out | ` +
				"write one of the units expected, and convert the numbers if need be", true},
		{"an unknown leg", "samples", "T1,A", "T1,B", leftOut, "unknown-leg",
			"stop samples.csv samples!D2 [S-1, T1 B] sample S-1 is on train T1 leg B, which has no flow check (legs of that train: A); it has no volume | " +
				"correct train and leg in samples, or add the leg's pre and post checks to flows", true},
		{"an unknown sample", "lab", "S-1", "S-9", leftOut, "unknown-sample", "", true},
		{"an unknown medium", "samples", "FILTER", "FLTER", done, "unknown-medium",
			"check samples.csv samples!E2 [S-1, FLTER] sample S-1 is on medium FLTER, which is not in media; form total and no method data are used | " +
				"add the medium, or correct its name", false},
		{"an unknown worker", "samples", "W-1", "W-7", done, "unknown-worker",
			"check samples.csv samples!F2 [S-1, W-7] sample S-1 is on worker W-7, who is not in workers; the group is not known | " +
				"add the worker, or correct the code", true},
		{"an unknown shift", "samples", "W-1,D", "W-1,E", done, "unknown-shift",
			"check samples.csv samples!G2 [S-1, E, W-1] sample S-1 names shift E of worker W-1, which is not in shifts; by its times it is in W-1 2026-03-02, as long as the samples or shift_min | " +
				"add the shift with its start and end, or correct its name", false},
		{"a stop before the start", "samples", "2026-03-02 15:00", "2026-03-02 06:00", leftOut, "stop-before-start",
			"stop samples.csv samples!I2 [S-1, T1 A] stop 2026-03-02 06:00 is not after the start at 2026-03-02 07:00; neither is used" + withoutTimes + " | " +
				"correct the start or the stop" + thenAgain, true},
		{"an unknown purpose", "samples", "shift\n", "shfit\n", leftOut, "unknown-choice",
			`stop samples.csv samples!J2 [S-1] purpose "shfit" is not one of shift, short-term, ceiling, duplicate; the nearest known one is shift; the row is left out | ` +
				"write one of shift, short-term, ceiling, duplicate", true},
		{"an unknown stage", "flows", "pre", "bfore", leftOut, "unknown-choice",
			`stop flows.csv flows!C2 [T1, A, S-1] stage "bfore" is not one of pre, post; the row is left out | write one of pre, post`, true},
		{"a decimal comma without quotes", "lab", "12", "1,2", leftOut, "long-row",
			"stop lab.csv lab! [S-1, Zorbium] the row has 6 cells under 5 headers; it is left out, because its cells may stand in the wrong columns | " +
				"put quotes around cells that hold the delimiter, such as decimal commas", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, p := reduceJSON(t, edited(t, c.table, c.from, c.to))
			require.Equal(t, c.status, status)
			if got := p.finding(t, c.code); c.want != "" {
				require.Equal(t, c.want, got)
			}
			value, stands := p.twa8("W-2")
			require.True(t, stands)
			require.InDelta(t, 0.025, value, 1e-12)
			_, stands = p.twa8("W-1")
			require.Equal(t, !c.lost, stands)
		})
	}
}

func TestTheSameSampleTwice(t *testing.T) {
	status, p := reduceJSON(t, edited(t, "samples", "S-2", "S-1"))
	require.Equal(t, leftOut, status)
	require.Equal(t, "stop samples.csv samples!A3 [S-1, Zorbium] sample S-1 stands in rows 2 and 3; none of these rows is used; told with it: "+
		"the laboratory reports Zorbium on sample S-1, which is not among the samples that could be used (no sample is called like it); lab!A2 not used | "+
		"give each its own name, or delete the row that is wrong"+thenAgain, p.finding(t, "duplicate-id"))
	require.Empty(t, p.Exposures)
}

func TestOverlappingSamples(t *testing.T) {
	status, p := reduceJSON(t, edited(t, "samples", "W-2", "W-1"))
	require.Equal(t, leftOut, status)
	require.Equal(t, "stop samples.csv samples!H3 [S-1, S-2, D, W-1, Zorbium] "+
		"samples S-1 and S-2 of worker W-1 in shift D overlap by 480 min for Zorbium; no exposure is given | "+
		"correct the times, or mark one as duplicate or short-term", p.finding(t, "samples-overlap"))
	require.Empty(t, p.Exposures)
}

// What is no survey says so on standard error, with what to do, and nothing
// on standard output.
func TestWhatIsNoSurvey(t *testing.T) {
	file := func(name string, raw []byte) string {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, raw, 0o666))
		return path
	}
	demo, err := os.ReadFile("../../testdata/demo.xlsx")
	require.NoError(t, err)
	empty := t.TempDir()
	for _, c := range []struct{ name, path, want string }{
		{"no such path", filepath.Join(empty, "none"), "cannot be opened: no such file or directory; check the path and your rights to it"},
		{"an empty folder", empty, "holds no .csv file; give a folder with at least samples.csv, flows.csv and lab.csv, or a workbook"},
		{"a missing table", edited(t, "flows", "", ""), "has no table flows (flow checks of each leg of each train); add the sheet flows, or the file flows.csv"},
		{"a mistyped column", edited(t, "lab", "result", "reslut"), "lab.csv: the lab table cannot be read: there is no column result " +
			`(the number; <0.06 or ND where not detected); the nearest header is "reslut"; add the column result`},
		{"text called a workbook", file("a.xlsx", []byte("sample,kind\n")), "a.xlsx: is not a workbook; give an .xlsx workbook or a folder of .csv files"},
		{"an encrypted workbook", file("b.xlsx", append([]byte("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"), make([]byte, 504)...)),
			"b.xlsx: is an encrypted workbook or one of the old .xls kind; save it as .xlsx without a password"},
		{"a workbook cut short", file("c.xlsx", demo[:len(demo)/2]), "c.xlsx: cannot be read as a workbook: zip: not a valid zip file; save it again as .xlsx in a spreadsheet"},
		{"a workbook that unfolds to 1.5 GB", file("d.xlsx", unfolding(t)), "d.xlsx: cannot be read as a workbook: part xl/worksheets/sheet1.xml unfolds to 1536 MB, more than 200 times its packed size; save it again as .xlsx in a spreadsheet, from where you know it to be sound"},
		{"a workbook with a changed digit", file("e.xlsx", changed(t, demo)), "is damaged: zip: checksum error; save it again as .xlsx in a spreadsheet"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, args := range [][]string{{"reduce", c.path, "--json"}, {"check", c.path}} {
				status, out, errOut := airtally(t, args...)
				require.Equal(t, unusable, status)
				require.Empty(t, out)
				require.True(t, strings.HasPrefix(errOut, "airtally: "), errOut)
				require.True(t, strings.HasSuffix(errOut, c.want+"\n"), errOut)
			}
		})
	}
}

// unfolding returns an archive whose sheet says that it holds 1.5 GB.
func unfolding(t *testing.T) []byte {
	t.Helper()
	var packed bytes.Buffer
	w := zip.NewWriter(&packed)
	part, err := w.CreateRaw(&zip.FileHeader{Name: "xl/worksheets/sheet1.xml", Method: zip.Deflate,
		CompressedSize64: 3, UncompressedSize64: 1536 << 20})
	require.NoError(t, err)
	_, err = part.Write([]byte{3, 0, 0})
	require.NoError(t, err)
	require.NoError(t, w.Close())
	return packed.Bytes()
}

// changed returns a workbook, stored without packing, in whose sheets one
// figure was changed and not its checksum.
func changed(t *testing.T, workbook []byte) []byte {
	t.Helper()
	from, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	require.NoError(t, err)
	var stored bytes.Buffer
	to := zip.NewWriter(&stored)
	for _, part := range from.File {
		r, err := part.Open()
		require.NoError(t, err)
		w, err := to.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Store})
		require.NoError(t, err)
		_, err = io.Copy(w, r)
		require.NoError(t, err)
	}
	require.NoError(t, to.Close())
	raw := stored.Bytes()
	at := bytes.Index(raw, []byte("<v>0.181</v>")) // µg on the first filter of the demonstration
	require.Positive(t, at)
	raw[at+len("<v>")] = '9'
	return raw
}

func TestResultsThatCannotBeWritten(t *testing.T) {
	folder := edited(t, "media", "total", "total")
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, []byte("kept"), 0o666))
	for _, into := range []string{file, filepath.Join(file, "results")} {
		status, out, errOut := airtally(t, "reduce", folder, "-o", into)
		require.Equal(t, unusable, status)
		require.Empty(t, out)
		require.Contains(t, errOut, "airtally: cannot write into "+into+": ")
		require.Contains(t, errOut, "; choose another folder with -o\n")
	}
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, "kept", string(text))
}

func TestUnreadableFlags(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"reduce", "x", "--outptu", "y"}, "airtally: unknown flag: --outptu; see airtally reduce --help\n"},
		{[]string{"reduce", "x", "-o"}, "airtally: flag needs an argument: 'o' in -o; see airtally reduce --help\n"},
		{[]string{"reduce", "x", "--json=perhaps"}, `airtally: invalid argument "perhaps" for "--json" flag: strconv.ParseBool: parsing "perhaps": invalid syntax; see airtally reduce --help` + "\n"},
	} {
		status, out, errOut := airtally(t, c.args...)
		require.Equal(t, unusable, status, c.args)
		require.Empty(t, out)
		require.Equal(t, c.want, errOut)
	}
}

// Two surveys in which one sample has the same id: both are kept, and it is
// said. One that cannot be read stops the whole run.
func TestTwoSurveys(t *testing.T) {
	first, second := edited(t, "media", "total", "total"), edited(t, "lab", "24", "48")
	status, out, errOut := airtally(t, "reduce", first, second, "--json")
	require.Equal(t, done, status, errOut)
	var p printed
	require.NoError(t, json.Unmarshal([]byte(out), &p))
	require.Contains(t, p.finding(t, "shared-sample-id"), "sample S-1 is also in another survey")
	var values []float64
	for _, x := range p.Exposures {
		if x["worker"] == "W-2" && x["basis"] == "twa8" {
			values = append(values, x["value_mgm3"].(float64))
		}
	}
	require.InDeltaSlice(t, []float64{0.025, 0.05}, values, 1e-12)

	missing := filepath.Join(first, "none")
	status, out, errOut = airtally(t, "reduce", first, missing, "--json")
	require.Equal(t, unusable, status)
	require.Empty(t, out)
	require.Equal(t, "airtally: "+missing+": cannot be opened: no such file or directory; check the path and your rights to it\n", errOut)
}
