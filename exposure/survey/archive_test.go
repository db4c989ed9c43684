package survey

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// packed is a member of an archive in the making.
type packed struct {
	name string
	text []byte
}

func surveyFiles() []packed {
	return []packed{
		{"inputs/1/flows.csv", []byte("train,leg,stage,readings,unit\nT1,A,pre,2;2;2,L/min\n")},
		{"inputs/1/lab.csv", []byte("sample,analyte,result,unit\nS-1,lead,1.3,ug\n")},
		{"inputs/1/samples.csv", []byte("sample,kind,train,leg,start,stop\nS-1,personal,T1,A,2026-03-02 07:00,2026-03-02 15:00\n")},
	}
}

// manifestOf lists the files, as one folder named week.
func manifestOf(files []packed) *Manifest {
	m := &Manifest{Schema: ManifestSchema, Tool: "airtally test"}
	given := ManifestGiven{Path: `C:\week`, Folder: true, Beside: []string{"old.xlsx"}}
	for _, f := range files {
		sum := sha256.Sum256(f.text)
		m.Members = append(m.Members, Member{f.name, int64(len(f.text)), hex.EncodeToString(sum[:])})
		base := filepath.Base(f.name)
		given.Files = append(given.Files, ManifestFile{base, `C:\week\` + base, f.name})
	}
	m.Parts = []ManifestPart{{Surveys: []ManifestGiven{given}}}
	return m
}

// pack writes an archive and returns its path.
func pack(t *testing.T, manifest any, files ...packed) string {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	add := func(name string, text []byte) {
		into, err := w.Create(name)
		if err == nil {
			_, err = into.Write(text)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, f := range files {
		add(f.name, f.text)
	}
	if manifest != nil {
		text, err := json.Marshal(manifest)
		if err != nil {
			t.Fatal(err)
		}
		add(ManifestMember, text)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "run.zip")
	if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// A survey read from an archive shows the paths it was once read from, also
// those of another system.
func TestASurveyIsReadFromAnArchive(t *testing.T) {
	files := surveyFiles()
	a, err := OpenArchive(pack(t, manifestOf(files), files...))
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	r, surveys, limits, _ := a.Part(0)
	if len(surveys) != 1 || limits != "" {
		t.Fatal(surveys, limits)
	}
	s, list, err := r.Read(surveys[0])
	if err != nil || len(s.Samples) != 1 || len(s.Lab) != 1 {
		t.Fatal(s, err)
	}
	if got := s.Inputs[0]; got.Path != `C:\week\flows.csv` || got.SHA256 != a.Manifest.Members[0].SHA256 || got.Holder() != a.path {
		t.Errorf("input %+v", got)
	}
	var mentioned bool
	for _, f := range list.Sorted() {
		mentioned = mentioned || f.File == `C:\week\old.xlsx`
	}
	if !mentioned {
		t.Error("the workbook that lay in the folder is not mentioned")
	}
}

func TestAnAlteredOrHostileArchiveIsRefused(t *testing.T) {
	files := surveyFiles()
	good := manifestOf(files)
	altered := append([]packed{}, files...)
	altered[1] = packed{files[1].name, []byte("sample,analyte,result,unit\nS-1,lead,1.2,ug\n")}
	extra := func(name string) []packed { return append(append([]packed{}, files...), packed{name, []byte("x")}) }
	unreadable := manifestOf(files)
	unreadable.Parts[0].Surveys[0].Files[0].Member = "inputs/1/none.csv"
	turning := manifestOf(files)
	turning.Parts[0].Surveys[0].Path = "week\x1b[2J"
	empty := manifestOf(files)
	empty.Parts = nil
	later := manifestOf(files)
	later.Schema = "airtally/archive/2"
	twice := manifestOf(files)
	twice.Members = append(twice.Members, twice.Members[0])
	for name, c := range map[string]struct {
		path string
		want []string
	}{
		"altered":          {pack(t, good, altered...), []string{`"inputs/1/lab.csv"`, "not what was archived", "SHA-256"}},
		"missing":          {pack(t, good, files[:2]...), []string{`lacks "inputs/1/samples.csv"`}},
		"unknown":          {pack(t, good, extra("more.txt")...), []string{`"more.txt"`, "does not list"}},
		"parent":           {pack(t, good, extra("../out.txt")...), []string{`"../out.txt"`, "lead out"}},
		"absolute":         {pack(t, good, extra("/etc/out.txt")...), []string{`"/etc/out.txt"`, "lead out"}},
		"other system's":   {pack(t, good, extra(`..\out.txt`)...), []string{"lead out"}},
		"drive":            {pack(t, good, extra("C:/out.txt")...), []string{"lead out"}},
		"same name twice":  {pack(t, good, extra(files[0].name)...), []string{`"inputs/1/flows.csv" twice`}},
		"listed twice":     {pack(t, twice, files...), []string{"lists", "twice"}},
		"no manifest":      {pack(t, nil, files...), []string{"holds no manifest.json", "unpack"}},
		"broken manifest":  {pack(t, "text", files...), []string{"manifest.json that cannot be read"}},
		"later kind":       {pack(t, later, files...), []string{"airtally/archive/2", "airtally test"}},
		"no survey":        {pack(t, empty, files...), []string{"names no survey"}},
		"unknown member":   {pack(t, unreadable, files...), []string{"inputs/1/none.csv"}},
		"turning a screen": {pack(t, turning, files...), []string{"which is none"}},
		"no file":          {filepath.Join(t.TempDir(), "none.zip"), []string{"none.zip", "cannot be opened"}},
		"folder":           {t.TempDir(), []string{"folder"}},
	} {
		a, err := OpenArchive(c.path)
		var unusable *UnusableError
		if !errors.As(err, &unusable) || a != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, want := range c.want {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %q lacks %q", name, err, want)
			}
		}
	}
}

// A member, or all together, that unfold beyond measure are refused before
// they are unfolded.
func TestAnArchiveThatUnfoldsBeyondMeasureIsRefused(t *testing.T) {
	bomb := packed{"inputs/1/lab.csv", make([]byte, smallPart+1)}
	many := []packed{}
	for i := range 3 {
		many = append(many, packed{"inputs/1/" + string(rune('a'+i)), make([]byte, smallPart/2)})
	}
	for _, files := range [][]packed{{bomb}, many} {
		if _, err := OpenArchive(pack(t, manifestOf(files), files...)); err == nil || !strings.Contains(err.Error(), "beyond all measure") {
			t.Error(err)
		}
	}
}

// A byte changed anywhere in an archive is told of, or changes nothing that is
// read; never does it end the program.
func TestADamagedArchiveNeverReadsWrong(t *testing.T) {
	files := surveyFiles()
	path := pack(t, manifestOf(files), files...)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	refused := 0
	for at := 0; at < len(whole); at += 3 {
		damaged := bytes.Clone(whole)
		damaged[at] ^= 0x55
		if err := os.WriteFile(path, damaged, 0o666); err != nil {
			t.Fatal(err)
		}
		a, err := OpenArchive(path)
		if err != nil {
			refused++
			continue
		}
		r, surveys, _, _ := a.Part(0)
		if s, _, err := r.Read(surveys[0]); err == nil {
			for i, in := range s.Inputs {
				if in.SHA256 != a.Manifest.Members[i].SHA256 {
					t.Fatalf("byte %d: %s is read altered", at, in.Path)
				}
			}
		}
		a.Close()
	}
	if refused < len(whole)/6 {
		t.Errorf("%d of %d damaged archives refused", refused, len(whole)/3)
	}
}
