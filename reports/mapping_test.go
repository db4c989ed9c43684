package reports

import (
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"airtally/exposure/survey"
)

// Whatever a laboratory writes, the mapping is TOML, and holds each entry under
// the laboratory's own words (TOML v1.0.0, basic strings and comments).
func TestMappingsAreTOML(t *testing.T) {
	text := rapid.StringN(1, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		p := &survey.Proposal{Path: text.Draw(t, "path"), HeadingRows: "row 1", ResultRows: "2 to 3", Deep: 2}
		words := rapid.SliceOfDistinct(text, func(s string) string { return s }).Draw(t, "words")
		for _, w := range words {
			comment := text.Draw(t, "comment")
			p.Headings = append(p.Headings, survey.Proposed{Key: w, Value: "result", Own: survey.Heading{Column: "result", Analyte: w, Unit: "ug"}, Comment: comment})
			p.Qualifiers = append(p.Qualifiers, survey.Proposed{Key: w, Value: "?", Comment: comment})
			p.Unknown = append(p.Unknown, survey.Proposed{Key: w, Comment: comment})
			p.Skip = append(p.Skip, survey.ProposedSkip{SkipRule: survey.SkipRule{Heading: w, Begins: []string{w}}, Comment: comment})
		}
		var out strings.Builder
		if err := WriteMapping(&out, p); err != nil {
			t.Fatal(err)
		}
		var read struct {
			Headings   map[string]map[string]string
			Qualifiers map[string]string
			Skip       []survey.SkipRule
		}
		if err := toml.Unmarshal([]byte(out.String()), &read); err != nil {
			t.Fatalf("%v:\n%s", err, out.String())
		}
		for i, w := range words {
			if read.Headings[w]["analyte"] != w || read.Qualifiers[w] != "?" || read.Skip[i].Begins[0] != w {
				t.Fatalf("%q is not read as it was written:\n%s", w, out.String())
			}
		}
	})
}

// What is proposed for sheets alike, and for headings alone.
func TestMappingHeads(t *testing.T) {
	var out strings.Builder
	require.NoError(t, WriteMapping(&out, &survey.Proposal{Path: "f.xlsx", HeadingRows: "row 1", Lacking: []string{"result"},
		Sheet: survey.Proposed{Comment: "the same headings stand on A and B: all are read"}}))
	for _, want := range []string{"# Headings in row 1; nothing is below them.", "# Sheets: the same headings stand on A and B: all are read.",
		`# One entry is to be decided`, `# No heading is understood as the result: write "result" for one of them.`} {
		require.Contains(t, out.String(), want)
	}
}

func TestMappingComments(t *testing.T) {
	require.Equal(t, "a b c", plainLine("a\nb\r\tc\x00"))
}
