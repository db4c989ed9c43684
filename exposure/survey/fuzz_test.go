package survey

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

// FuzzTable reads any text as a table of results: every row that holds
// something becomes a result, or a finding names it, or it is the headers again.
func FuzzTable(f *testing.F) {
	const head = "sample,analyte,result,unit,analysed,cas\n"
	for _, seed := range []string{
		head + "S-1,Iron,1.5,ug,2026-03-02,7440-50-8\n", head + "Total,,12,ug,,\n* a remark of four words\n",
		"Titles\n\n" + head + head + "S-1,Iron,<2,ug,3/4/2026,\nS-1,Tin,2,ug,14/4/2026,6/4/7440\n",
		"Sample,,Lab,\nNo,Analyte,Result,Unit\n,,ug,\nS-1,Iron,ND,\n", "sample;analyte;result;unit\nS-1;Iron;1,5;ug;;\n", "sep=|\nsample|analyte|result (ug)\n\u200bS\u20111|x|\uff11\n",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if !strings.Contains(text, "\n") {
			return // lines that end in CR alone are counted after they were turned
		}
		s, list, err := Read(writeFolder(t, with("lab.csv", text)))
		if err != nil {
			return
		}
		table := s.Tables[slices.IndexFunc(s.Tables, func(t *Table) bool { return t.Name == "lab" })]
		told := map[int]bool{}
		for _, found := range list.Sorted() {
			told[found.Row] = told[found.Row] || found.Table == "lab"
		}
		for _, l := range s.Lab {
			told[int(l.Row)] = true
		}
		for _, row := range table.body {
			texts := textsOf(table.grid.read(row, nil))
			if len(texts) > 0 && !told[int(row)] && !slices.Equal(texts, table.headers) {
				t.Errorf("row %d of %q, %q, is dropped silently", row, text, texts)
			}
		}
	})
}

// FuzzCAS holds that what is read as a CAS number has its check digit, or is
// told of.
func FuzzCAS(f *testing.F) {
	for _, seed := range []string{"7440-02-0", "3/1/7440", "9/2/1975", "2-Sep-75", "108883", "CAS No. [108-88-3]", "7440-06-04", "0000-00-0", "02.09.75"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r := &reader{Table: &Table{Name: "lab", description: labDescription, headers: []string{"cas"}, fields: map[string]*field{}}, cells: []cell{{text: text}}}
		column, _ := labDescription.Column("cas")
		got := r.cas(&field{Column: column}, map[string]bool{})
		if got != "" && casFault(got) != "" && r.list.Len() == 0 {
			t.Errorf("%q is read as %q and nothing told", text, got)
		}
	})
}

// FuzzIdentifier holds that tidying is done once for all and loses no letter.
func FuzzIdentifier(f *testing.F) {
	for _, seed := range []string{"S\u20111", "\uff33\u3000\uff11", "a\u0308", "\u00b5", "\u200f-\ufeff", "'\u2019"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		once := identifier(text)
		if again := identifier(once); again != once {
			t.Errorf("%q becomes %q, then %q", text, once, again)
		}
		if utf8.ValidString(text) && simplify(once) != simplify(text) {
			t.Errorf("%q becomes %q, another name", text, once)
		}
	})
}
