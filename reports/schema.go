package reports

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"

	"airtally/exposure/survey"
)

// PackageFile is the descriptor of the input tables together.
const PackageFile = "datapackage.json"

// schemaProfile and packageProfile say which open standard the descriptors
// follow: Frictionless Data Package and Table Schema, version 2.
const (
	schemaProfile  = "https://datapackage.org/profiles/2.0/tableschema.json"
	packageProfile = "https://datapackage.org/profiles/2.0/datapackage.json"
)

// Patterns of cells that are more than one type of the standard: a time of day
// can stand without its date, and a result with a sign or as a word. A program
// that took 05:47 for a datetime would put it on a day of its own choosing.
const (
	momentPattern = `[0-9]{4}-[0-9]{2}-[0-9]{2}([ T][0-9]{1,2}:[0-9]{2}(:[0-9]{2})? ?(Z|[+-][0-9]{2}(:?[0-9]{2})?)?)?|[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?`
	resultPattern = `[<>]? ?[-+]?([0-9]+([.,][0-9]+)?|[.,][0-9]+)([eE][-+]?[0-9]+)?|[A-Za-z][A-Za-z .]*`
)

// tableSchema is a Table Schema.
type tableSchema struct {
	Schema        string        `json:"$schema"`
	Title         string        `json:"title"`
	Description   string        `json:"description"`
	FieldsMatch   string        `json:"fieldsMatch"`
	Fields        []schemaField `json:"fields"`
	MissingValues []string      `json:"missingValues"`
	PrimaryKey    []string      `json:"primaryKey,omitempty"`
	ForeignKeys   []foreignKey  `json:"foreignKeys,omitempty"`
}

type schemaField struct {
	Name        string             `json:"name"`
	Title       string             `json:"title"`
	Description string             `json:"description"`
	Type        string             `json:"type"`
	Format      string             `json:"format,omitempty"`
	GroupChar   string             `json:"groupChar,omitempty"`
	Unit        string             `json:"unit,omitempty"`
	Example     string             `json:"example,omitempty"`
	Constraints *schemaConstraints `json:"constraints,omitempty"`
}

type schemaConstraints struct {
	Required         bool     `json:"required,omitempty"`
	Enum             []string `json:"enum,omitempty"`
	Pattern          string   `json:"pattern,omitempty"`
	Minimum          *float64 `json:"minimum,omitempty"`
	Maximum          *float64 `json:"maximum,omitempty"`
	ExclusiveMinimum *float64 `json:"exclusiveMinimum,omitempty"`
}

type foreignKey struct {
	Fields    []string         `json:"fields"`
	Reference foreignReference `json:"reference"`
}

type foreignReference struct {
	Resource string   `json:"resource,omitempty"` // "", and left out, where it is the table itself
	Fields   []string `json:"fields"`
}

// dataPackage is a Data Package of all the tables.
type dataPackage struct {
	Schema      string         `json:"$schema"`
	Name        string         `json:"name"`
	Title       string         `json:"title"`
	Description string         `json:"description"`
	Resources   []dataResource `json:"resources"`
}

type dataResource struct {
	Name        string `json:"name"`
	Type        string `json:"type"`
	Path        string `json:"path"`
	Format      string `json:"format"`
	MediaType   string `json:"mediatype"`
	Encoding    string `json:"encoding"`
	Title       string `json:"title"`
	Description string `json:"description"`
	Schema      string `json:"schema"`
}

// WriteSchemas writes the descriptors of the input tables into a folder, made
// where it is missing: NAME.schema.json for each, and datapackage.json. It
// returns the paths written. Files of those names that differ are written over
// only where force says so.
func WriteSchemas(folder string, force bool) (written []string, err error) {
	files, names := schemaFiles()
	for _, name := range names {
		path := filepath.Join(folder, name)
		there, err := os.ReadFile(path)
		if err == nil && !force && !bytes.Equal(there, files[name]) {
			return nil, fmt.Errorf("%s is there already and differs; choose another folder, or write over it with --force", path)
		}
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, fmt.Errorf("cannot write into %s: %w; choose another folder", folder, err)
	}
	for _, name := range names {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, files[name], 0o666); err != nil {
			return written, fmt.Errorf("cannot write into %s: %w; choose another folder", folder, err)
		}
		written = append(written, path)
	}
	return written, nil
}

// schemaFiles returns the descriptors by file name, and the names in order.
func schemaFiles() (files map[string][]byte, names []string) {
	files = map[string][]byte{}
	add := func(name string, descriptor any) {
		files[name] = encoded(descriptor)
		names = append(names, name)
	}
	p := dataPackage{Schema: packageProfile, Name: "airtally-survey", Title: "Air sampling survey",
		Description: "Input tables of airtally: one folder of .csv files, with the files named here beside this one. " +
			"samples, flows and lab are required; take the resources of the others out where there is no such file."}
	for _, d := range survey.Descriptions() {
		file := d.Name + ".schema.json"
		add(file, schemaOf(d))
		p.Resources = append(p.Resources, dataResource{Name: d.Name, Type: "table", Path: d.Name + ".csv", Format: "csv",
			MediaType: "text/csv", Encoding: "utf-8", Title: d.Name, Description: sentence(d.Help), Schema: file})
	}
	add(PackageFile, p)
	return files, names
}

func encoded(descriptor any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(descriptor); err != nil {
		panic("reports: a descriptor of plain fields cannot fail to encode: " + err.Error())
	}
	return b.Bytes()
}

// schemaOf returns the schema of one table. Columns that a file lacks or has
// besides are no fault of it: airtally names those that matter.
func schemaOf(d *survey.Description) tableSchema {
	s := tableSchema{Schema: schemaProfile, Title: d.Name, Description: sentence(d.Help), FieldsMatch: "partial", MissingValues: []string{""}}
	for _, c := range starterColumns(d) {
		s.Fields = append(s.Fields, fieldOf(c))
		if c.Refers != "" {
			s.ForeignKeys = append(s.ForeignKeys, keyTo(d, c.Column))
		}
	}
	if d.Unique {
		s.PrimaryKey = d.Subject
	}
	return s
}

func keyTo(d *survey.Description, c *survey.Column) foreignKey {
	target := survey.Describe(c.Refers)
	resource := target.Name
	if target == d {
		resource = ""
	}
	return foreignKey{[]string{c.Name}, foreignReference{resource, []string{target.Columns[0].Name}}}
}

// fieldOf describes one column.
func fieldOf(c starterColumn) schemaField {
	f := schemaField{Name: c.key, Title: strings.ReplaceAll(c.key, "_", " "), Description: fieldText(c.Column), Type: "string"}
	if c.UnitColumn == "" {
		f.Unit = c.Unit
	}
	k := schemaConstraints{Required: c.needed}
	switch c.Type {
	case survey.NumberCell, survey.FractionCell, survey.ReadingsCell:
		f.Type = "number"
		if c.Type == survey.ReadingsCell {
			f.GroupChar = "," // 1,996 mL/min
		}
		limit(&k, c.Range)
	case survey.MomentCell:
		if c.DateOnly {
			f.Type = "date"
		} else {
			k.Pattern = momentPattern
		}
	case survey.ResultCell:
		k.Pattern = resultPattern
	case survey.ChoiceCell:
		k.Enum = c.Values()
	case survey.YesNoCell:
		k.Enum = []string{"yes", "no"}
	}
	if len(c.Suggested) > 0 {
		f.Example = c.Suggested[0]
	}
	if !k.empty() {
		f.Constraints = &k
	}
	return f
}

func (k *schemaConstraints) empty() bool {
	return !k.Required && k.Enum == nil && k.Pattern == "" && k.Minimum == nil && k.Maximum == nil && k.ExclusiveMinimum == nil
}

// limit writes the bounds of a number.
func limit(k *schemaConstraints, r survey.Range) {
	if !r.Limited {
		return
	}
	if r.OverLow {
		k.ExclusiveMinimum = &r.Low
	} else {
		k.Minimum = &r.Low
	}
	if !math.IsInf(r.High, 0) {
		k.Maximum = &r.High
	}
}

// fieldText says in one line what a column holds.
func fieldText(c *survey.Column) string {
	return strings.ReplaceAll(columnNote(c), "\n", " ")
}
