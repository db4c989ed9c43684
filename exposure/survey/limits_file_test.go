package survey

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"airtally/limits"
)

func TestLimitsOfAFileOfTheirOwn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "house rules.csv")
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("analyte,authority,kind,value,unit\nQuillite,House,TWA8,2,mg/m3\nQuillite,House,STEL,many,mg/m3\n")
	rows, given, list, err := Disk.ReadLimits(path)
	if err != nil || len(rows) != 1 || len(given.Inputs) != 1 {
		t.Fatal(rows, given, err)
	}
	if l := rows[0].Limit; l.Analyte != "Quillite" || l.Kind != limits.TWA8 || l.Value != 2 || !l.User {
		t.Errorf("%+v", l)
	}
	if found := list.Sorted(); len(found) != 1 || found[0].Cell != "D3" || found[0].File != path {
		t.Errorf("%+v", found)
	}

	write("sample,analyte,result,unit\nS1,Quillite,2,ug\n")
	var unusable *UnusableError
	if _, _, _, err := Disk.ReadLimits(path); !errors.As(err, &unusable) {
		t.Errorf("a table of results is taken for limits: %v", err)
	}
	if _, _, _, err := Disk.ReadLimits(path + ".none"); !errors.As(err, &unusable) {
		t.Errorf("no file: %v", err)
	}
}
