package reports

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"airtally/exposure/survey"
)

// csvTable is a table as a program reads it that knows the schema alone.
type csvTable struct {
	header []string
	rows   [][]string
}

func (t *csvTable) cell(row []string, field string) string {
	if i := slices.Index(t.header, field); i >= 0 {
		return row[i]
	}
	return ""
}

func readCSV(t *testing.T, path string) *csvTable {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return &csvTable{all[0], all[1:]}
}

// fault returns what of the Table Schema a value breaks, "" where nothing.
func (f schemaField) fault(value string) string {
	k := f.Constraints
	if k == nil {
		k = &schemaConstraints{}
	}
	if value == "" {
		return map[bool]string{true: "required"}[k.Required]
	}
	switch f.Type {
	case "number":
		v, err := strconv.ParseFloat(strings.ReplaceAll(value, f.GroupChar, ""), 64)
		switch {
		case err != nil:
			return "number"
		case k.Minimum != nil && v < *k.Minimum, k.ExclusiveMinimum != nil && v <= *k.ExclusiveMinimum:
			return "minimum"
		case k.Maximum != nil && v > *k.Maximum:
			return "maximum"
		}
	case "date":
		if _, err := time.Parse(time.DateOnly, value); err != nil {
			return "date"
		}
	case "string":
		if k.Pattern != "" && !regexp.MustCompile("^(?:"+k.Pattern+")$").MatchString(value) {
			return "pattern"
		}
	default:
		return "no such type: " + f.Type
	}
	if k.Enum != nil && !slices.Contains(k.Enum, value) {
		return "enum"
	}
	return ""
}

// faults checks tables against their schemas: types, constraints, keys.
func faults(schemas map[string]tableSchema, tables map[string]*csvTable) []string {
	var all []string
	for name, s := range schemas {
		t := tables[name]
		seen := map[string]bool{}
		for i, row := range t.rows {
			say := func(what, value string) {
				all = append(all, fmt.Sprintf("%s row %d: %s %q", name, i+2, what, value))
			}
			for _, f := range s.Fields {
				if v := t.cell(row, f.Name); slices.Contains(t.header, f.Name) || f.Constraints != nil && f.Constraints.Required {
					if what := f.fault(v); what != "" {
						say(f.Name+" "+what, v)
					}
				}
			}
			var key []string
			for _, field := range s.PrimaryKey {
				key = append(key, t.cell(row, field))
			}
			if id := strings.Join(key, "|"); key != nil && seen[id] {
				say("primary key", id)
			} else {
				seen[id] = true
			}
			for _, k := range s.ForeignKeys {
				if v := t.cell(row, k.Fields[0]); v != "" && !refers(tables, name, k, v) {
					say(k.Fields[0]+" foreign key", v)
				}
			}
		}
	}
	slices.Sort(all)
	return all
}

func refers(tables map[string]*csvTable, table string, k foreignKey, value string) bool {
	if k.Reference.Resource != "" {
		table = k.Reference.Resource
	}
	target := tables[table]
	return slices.ContainsFunc(target.rows, func(row []string) bool { return target.cell(row, k.Reference.Fields[0]) == value })
}

// writtenSchemas writes the descriptors and reads them back as a stranger.
func writtenSchemas(t *testing.T) (map[string]tableSchema, dataPackage) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "made", "here")
	paths, err := WriteSchemas(dir, false)
	require.NoError(t, err)
	require.Len(t, paths, len(survey.Descriptions())+1)
	var p dataPackage
	read := func(name string, into any) {
		raw, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(raw, into), name)
	}
	read(PackageFile, &p)
	schemas := map[string]tableSchema{}
	for _, r := range p.Resources {
		var s tableSchema
		read(r.Schema, &s)
		schemas[r.Name] = s
	}
	return schemas, p
}

func demoTables(t *testing.T, p dataPackage) map[string]*csvTable {
	t.Helper()
	tables := map[string]*csvTable{}
	for _, r := range p.Resources {
		tables[r.Name] = readCSV(t, filepath.Join("..", "testdata", "demo", r.Path))
	}
	return tables
}

func TestTheDemoSatisfiesItsSchemas(t *testing.T) {
	schemas, p := writtenSchemas(t)
	assert.Empty(t, faults(schemas, demoTables(t, p)))
}

// The checker of the test above finds each kind of fault.
func TestFaultsOfTheDemoAreFoundByItsSchemas(t *testing.T) {
	schemas, p := writtenSchemas(t)
	for _, c := range []struct{ table, column, value, want string }{
		{"samples", "kind", "personnal", "enum"},
		{"samples", "start", "5/4/2026 7:12 AM", "pattern"},
		{"samples", "worker", "W-99", "foreign key"},
		{"samples", "sample", "S-102", "primary key"},
		{"samples", "sample", "", "required"},
		{"flows", "reading_1", "two", "number"},
		{"flows", "reading_1", "0", "minimum"},
		{"flows", "device", "FM-99", "foreign key"},
		{"lab", "result", "0.18 ug/m3", "pattern"},
		{"lab", "sample", "S-999", "foreign key"},
		{"lab", "analysed", "13 May", "date"},
		{"devices", "accuracy_pct", "101", "maximum"},
	} {
		t.Run(c.table+" "+c.column+" "+c.want, func(t *testing.T) {
			tables := demoTables(t, p)
			changed := tables[c.table]
			changed.rows[0][slices.Index(changed.header, c.column)] = c.value
			found := faults(schemas, tables)
			assert.True(t, slices.ContainsFunc(found, func(f string) bool {
				return strings.HasPrefix(f, c.table+" row") && strings.Contains(f, c.want)
			}), "%q", found)
		})
	}
}

// Every column of the one description is in the schemas under its own name,
// with its help, and the required ones say so.
func TestSchemasHoldEveryColumn(t *testing.T) {
	schemas, p := writtenSchemas(t)
	require.Len(t, p.Resources, len(survey.Descriptions()))
	for i, d := range survey.Descriptions() {
		assert.Equal(t, d.Name, p.Resources[i].Name)
		for _, c := range d.Columns {
			name := c.Name
			if c.Type == survey.ReadingsCell {
				name = "reading_1"
			}
			at := slices.IndexFunc(schemas[d.Name].Fields, func(f schemaField) bool { return f.Name == name })
			require.GreaterOrEqual(t, at, 0, "%s.%s", d.Name, name)
			f := schemas[d.Name].Fields[at]
			assert.Contains(t, strings.ToLower(f.Description), strings.ToLower(c.Help))
			assert.Equal(t, c.Required, f.Constraints != nil && f.Constraints.Required, "%s.%s", d.Name, name)
		}
	}
}

func TestSchemasSpareOtherFiles(t *testing.T) {
	dir := t.TempDir()
	_, err := WriteSchemas(dir, false)
	require.NoError(t, err)
	_, err = WriteSchemas(dir, false)
	require.NoError(t, err, "the same files again")
	path := filepath.Join(dir, PackageFile)
	require.NoError(t, os.WriteFile(path, []byte("{}"), 0o600))
	_, err = WriteSchemas(dir, false)
	require.EqualError(t, err, path+" is there already and differs; choose another folder, or write over it with --force")
	_, err = WriteSchemas(dir, true)
	require.NoError(t, err)
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Greater(t, len(raw), 1000)
}
