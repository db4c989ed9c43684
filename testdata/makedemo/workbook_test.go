package main

import (
	"path/filepath"
	"slices"
	"testing"

	"github.com/xuri/excelize/v2"
)

// The tables and the workbook are two forms of one survey; nobody may mend
// one and forget the other.
func TestTheCommittedWorkbookHoldsTheTables(t *testing.T) {
	book, err := excelize.OpenFile(filepath.FromSlash("../demo.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	if got := book.GetSheetList(); !slices.Equal(got, tables) {
		t.Fatalf("sheets are %q, want %q", got, tables)
	}
	for _, name := range tables {
		want, err := readTable(filepath.Join("..", "demo", name+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := book.GetRows(name)
		if err != nil {
			t.Fatal(err)
		}
		compareRows(t, name, got, want)
	}
}

func compareRows(t *testing.T, sheet string, got, want [][]string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s has %d rows, want %d", sheet, len(got), len(want))
		return
	}
	for r, row := range want {
		for c, text := range row {
			shown := ""
			if c < len(got[r]) {
				shown = got[r][c]
			}
			if shown != text {
				t.Errorf("%s row %d column %d shows %q, want %q", sheet, r+1, c+1, shown, text)
			}
		}
	}
}

func TestCellsAreTypedAsASpreadsheetWould(t *testing.T) {
	book := excelize.NewFile()
	defer book.Close()
	looks, err := newStyles(book)
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]any{
		"0.190":     0.19,
		"-0.010":    -0.01,
		"0418":      "0418", // an identifier keeps its zero
		"1,997":     1997.0, // shown with its comma
		"<0.06":     "<0.06",
		"7439-96-5": "7439-96-5", // a CAS number is no date
		"06:00":     0.25,
	} {
		if got, _ := typed(text, looks); got != want {
			t.Errorf("%q becomes %v (%T), want %v", text, got, got, want)
		}
	}
}
