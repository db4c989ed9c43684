package survey

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/text/unicode/norm"

	"airtally/exposure/finding"
)

// plainSurvey is a survey with nothing wrong: one worker, one shift, one
// sample. Tests replace or add files.
func plainSurvey() map[string]string {
	return map[string]string{
		"samples.csv": "sample,kind,train,leg,medium,worker,shift,start,stop\n" +
			"S-1,personal,T1,A,M1,W-1,D1,2026-03-02 07:00,2026-03-02 15:00\n",
		"flows.csv": "train,leg,stage,readings,unit,taken_at\n" +
			"T1,A,pre,2.01;1.99;2.00,L/min,2026-03-02 06:30\n" +
			"T1,A,post,1.98;1.97;1.99,L/min,2026-03-02 15:20\n",
		"lab.csv": "sample,analyte,result,unit\nS-1,Manganese,12.5,ug\n",
	}
}

// with returns the plain survey with some files replaced or added.
func with(files ...string) map[string]string {
	all := plainSurvey()
	for i := 0; i < len(files); i += 2 {
		all[files[i]] = files[i+1]
	}
	return all
}

func writeFolder(t testing.TB, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// readFolder reads a survey of files and returns its findings one a line,
// without the folder's name.
func readFolder(t testing.TB, files map[string]string) (*Survey, []string) {
	t.Helper()
	dir := writeFolder(t, files)
	s, list, err := Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s, lines(list, dir)
}

// lines writes findings as "severity code place [subject] message".
func lines(list *finding.List, dir string) []string {
	var out []string
	for _, f := range list.Sorted() {
		place := strings.TrimPrefix(f.Place.String(), dir+string(filepath.Separator))
		out = append(out, f.Severity.String()+" "+string(f.Code)+" "+place+" ["+f.Subject+"] "+f.Message)
	}
	return out
}

func wantLines(t testing.TB, got, want []string) {
	t.Helper()
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("findings:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func mustZone(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return zone
}

func foldDigits(text string) string { return norm.NFKC.String(text) }
