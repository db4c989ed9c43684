//go:build unix

package survey

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// Links may lead anywhere, and a device or a pipe may never end.
func TestHostileFolders(t *testing.T) {
	outside := writeFolder(t, map[string]string{"secret.csv": "sample,analyte,result,unit\nS-1,Tin,2,ug\n"})
	pipe := filepath.Join(t.TempDir(), "pipe.xlsx")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ link, want string }{
		"outside":           {filepath.Join(outside, "secret.csv"), "001/lab.csv: is a link that leads out of the folder; put the file itself into the folder"},
		"the folder above":  {"..", "001/lab.csv: is a link that leads out of the folder; put the file itself into the folder"},
		"itself":            {"lab.csv", "001/lab.csv: cannot be read: too many levels of symbolic links; check the file and your rights to it"},
		"nowhere":           {"none.csv", "001/lab.csv: cannot be read: no such file or directory; check the file and your rights to it"},
		"a device":          {"/dev/zero", "001/lab.csv: is a link that leads out of the folder; put the file itself into the folder"},
		"the folder itself": {".", "001/lab.csv: cannot be read: is a directory; check the file and your rights to it"},
	} {
		t.Run(name, func(t *testing.T) {
			folder := writeFolder(t, with())
			if err := os.Remove(filepath.Join(folder, "lab.csv")); err != nil {
				t.Fatal(err)
			}
			if err := os.Symlink(c.link, filepath.Join(folder, "lab.csv")); err != nil {
				t.Fatal(err)
			}
			wantRefused(t, folder, c.want)
		})
	}
	folder := writeFolder(t, with())
	if err := os.Rename(filepath.Join(folder, "lab.csv"), filepath.Join(folder, "results.text")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("results.text", filepath.Join(folder, "lab.csv")); err != nil {
		t.Fatal(err)
	}
	if s, _, err := Read(folder); err != nil || len(s.Lab) != 1 {
		t.Errorf("a link within the folder: %v", err)
	}
	wantRefused(t, pipe, "pipe.xlsx: cannot be opened: it is a device or a pipe, not a file; check the path and your rights to it")
	wantRefused(t, "/dev/zero", "zero: cannot be opened: it is a device or a pipe, not a file; check the path and your rights to it")
}
