package survey

import (
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestCASNumbersThatSpreadsheetsChanged reads CAS numbers as dates, numbers and
// with what people write around them. The numbers and names are those of the
// CAS registry: 7440-06-4 platinum, 75-09-2 dichloromethane, 79-01-6
// trichloroethene, 75-01-4 chloroethene, 108-88-3 toluene, 7440-02-0 nickel,
// 7440-03-1 niobium, 7440-05-3
// palladium, 7440-04-2 osmium. Spreadsheets read two digits of a year from 30 on as of the
// last century (common practice, no source).
func TestCASNumbersThatSpreadsheetsChanged(t *testing.T) {
	for _, c := range []struct{ text, want, told string }{
		{"7440-06-4", "7440-06-4", ""},
		{"7440-06-04", "7440-06-4", "cas-repaired"},
		{"6/4/7440", "7440-06-4", "cas-repaired"},
		{"04.06.7440", "7440-06-4", "cas-repaired"},
		{"5/3/7440", "7440-05-3", "cas-repaired"},
		{"4/2/7440", "7440-04-2", "cas-repaired"},
		{"9/2/1975", "75-09-2", "cas-repaired"},
		{"1975-09-02", "75-09-2", "cas-repaired"},
		{"02.09.75", "75-09-2", "cas-repaired"},
		{"2-Sep-75", "75-09-2", "cas-repaired"},
		{"1/4/1975", "75-01-4", "cas-repaired"},
		{"1979-01-06", "79-01-6", "cas-repaired"},
		{"06/01/1979", "06/01/1979", "cas-invalid"}, // 79-06-1 is acrylamide
		{"3/1/7440", "7440-03-1", "cas-repaired"},
		{"7440-03-12", "7440-03-12", "cas-invalid"},
		{"Sep-75", "Sep-75", "cas-invalid"},
		{"108883", "108-88-3", "cas-repaired"},
		{"7440020", "7440-02-0", "cas-repaired"},
		{"7440021", "7440021", "cas-invalid"},
		{"CAS No. 7440-02-0", "7440-02-0", ""},
		{"[108-88-3]", "108-88-3", ""},
		{"000108-88-3", "108-88-3", ""},
		{"7440‑02‑0", "7440-02-0", ""},
		{"７４４０－０２－０", "7440-02-0", ""},
		{"108-88-4", "108-88-4", "cas-invalid"},
	} {
		s, got := readFolder(t, with("lab.csv", "sample,analyte,result,unit,cas\nS-1,X,1,ug,"+c.text+"\n"))
		code := ""
		if len(got) > 0 {
			code = strings.Fields(got[0])[1]
		}
		if s.Lab[0].CAS != c.want || code != c.told || len(got) > 1 {
			t.Errorf("%q is %q, told %q; want %q, %s", c.text, s.Lab[0].CAS, got, c.want, c.told)
		}
	}
}

// TestEveryDayGivesBackItsCASNumber types CAS numbers that are dates and holds
// what comes back: the number itself. No other number fits such a day, for the
// two digits of the century change the check digit.
func TestEveryDayGivesBackItsCASNumber(t *testing.T) {
	back := 0
	for first := 1900; first < 10000; first++ {
		for month := 1; month <= 12; month++ {
			for day := 1; day <= 9; day++ {
				d := time.Date(first, time.Month(month), day, 0, 0, 0, 0, time.UTC)
				number := d.Format("2006-01-") + d.Format("2")
				if casFault(number) != "" {
					continue
				}
				if all := casOfDay(d); len(all) != 1 || all[0] != number {
					t.Fatalf("%s comes back as %q", number, all)
				}
				back++
			}
		}
	}
	if back < 50_000 {
		t.Errorf("only %d came back", back)
	}
}

func TestCASNumbersInCellsOfDatesAndNumbers(t *testing.T) {
	rows := workbookRows()
	day := func(text string) shown {
		d, err := time.Parse("2006-01-02", text)
		if err != nil {
			t.Fatal(err)
		}
		return shown{d, "m/d/yyyy"}
	}
	rows["Laboratory results"] = [][]any{{"sample", "analyte", "result", "unit", "cas"},
		{"007", "Dichloromethane", 1, "ug", day("1975-09-02")},
		{"007", "Palladium", 1, "ug", day("7440-05-03")},
		{"007", "Toluene", 1, "ug", 108883},
		{"007", "Unknown", 1, "ug", day("1975-09-04")}}
	path := writeWorkbook(t, rows, nil)
	s, list, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, lines(list, filepath.Dir(path)), []string{
		"check cas-repaired survey.xlsx:lab!E2 [007, Dichloromethane] cas 9/2/1975 is a date; it is taken as the CAS number 75-09-2, whose check digit is right",
		"check cas-repaired survey.xlsx:lab!E3 [007, Palladium] cas 5/3/7440 is a date; it is taken as the CAS number 7440-05-3, whose check digit is right",
		"check cas-repaired survey.xlsx:lab!E4 [007, Toluene] cas 108883 is written without its strokes; it is taken as the CAS number 108-88-3, whose check digit is right",
		"check date-as-identifier survey.xlsx:lab!E5 [007, Unknown] cas 9/4/1975 is a date cell: a spreadsheet may have made a date of an identifier such as 3-2",
	})
	if got := []string{s.Lab[0].CAS, s.Lab[1].CAS, s.Lab[2].CAS}; strings.Join(got, " ") != "75-09-2 7440-05-3 108-88-3" {
		t.Errorf("read %q", got)
	}
}
