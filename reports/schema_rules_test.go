package reports

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The rules of Table Schema and Data Package, version 2 (datapackage.org/standard,
// and its JSON profile of Table Schema 2.0): which keys each type of field has,
// and which constraints.
var (
	keysOfFields = strings.Fields("name type title description example constraints missingValues rdfType format")
	keysOfTypes  = map[string][]string{
		"string": strings.Fields("categories categoriesOrdered"), "number": strings.Fields("decimalChar groupChar bareNumber"),
		"date": nil,
	}
	constraintsOfTypes = map[string][]string{
		"string": strings.Fields("required unique enum pattern minLength maxLength"),
		"number": strings.Fields("required unique enum minimum maximum exclusiveMinimum exclusiveMaximum"),
		"date":   strings.Fields("required unique enum minimum maximum exclusiveMinimum exclusiveMaximum"),
	}
	ownKeys      = []string{"unit"} // which the standard leaves to publishers
	fieldMatches = []string{"exact", "equal", "subset", "superset", "partial"}
	resourceName = regexp.MustCompile(`^[a-z0-9._-]+$`)
)

type jsonObject = map[string]any

// broken returns what of the rules a schema breaks. names are the fields of
// all resources.
func broken(schema jsonObject, names map[string][]string) (faults []string) {
	say := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	fields, _ := schema["fields"].([]any)
	if len(fields) == 0 {
		say("fields: none")
	}
	seen := map[string]bool{}
	for _, f := range fields {
		field, _ := f.(jsonObject)
		name, _ := field["name"].(string)
		if name == "" || seen[name] {
			say("field %q: no name of its own", name)
		}
		seen[name] = true
		faults = append(faults, brokenField(name, field)...)
	}
	if match, given := schema["fieldsMatch"]; given && !slices.Contains(fieldMatches, fmt.Sprint(match)) {
		say("fieldsMatch: %v", match)
	}
	keys, _ := schema["primaryKey"].([]any)
	if _, given := schema["primaryKey"]; given && len(keys) == 0 {
		say("primaryKey: empty")
	}
	for _, key := range keys {
		if !seen[fmt.Sprint(key)] {
			say("primaryKey: %v", key)
		}
	}
	foreign, _ := schema["foreignKeys"].([]any)
	for _, k := range foreign {
		reference, _ := k.(jsonObject)["reference"].(jsonObject)
		from, _ := k.(jsonObject)["fields"].([]any)
		to, _ := reference["fields"].([]any)
		resource, elsewhere := reference["resource"].(string)
		if len(from) == 0 || len(from) != len(to) || elsewhere && names[resource] == nil {
			say("foreignKeys: %v", k)
		}
		for i := range min(len(from), len(to)) {
			if !seen[fmt.Sprint(from[i])] || elsewhere && !slices.Contains(names[resource], fmt.Sprint(to[i])) || !elsewhere && !seen[fmt.Sprint(to[i])] {
				say("foreignKeys: %v", k)
			}
		}
	}
	return faults
}

func brokenField(name string, field jsonObject) (faults []string) {
	say := func(format string, args ...any) { faults = append(faults, name+": "+fmt.Sprintf(format, args...)) }
	kind, _ := field["type"].(string)
	if _, known := keysOfTypes[kind]; !known {
		say("type %q", kind)
	}
	for key, value := range field {
		if !slices.Contains(slices.Concat(keysOfFields, keysOfTypes[kind], ownKeys), key) {
			say("key %s of a %s", key, kind)
		}
		if _, isText := value.(string); !isText && key != "constraints" {
			say("%s is no text", key)
		}
	}
	constraints, _ := field["constraints"].(jsonObject)
	for key, value := range constraints {
		if !slices.Contains(constraintsOfTypes[kind], key) {
			say("constraint %s of a %s", key, kind)
		}
		switch v := value.(type) {
		case []any:
			if len(v) == 0 || key != "enum" {
				say("constraint %s: %v", key, v)
			}
		case string:
			if _, err := regexp.Compile(v); key == "pattern" && err != nil {
				say("pattern: %v", err)
			}
		}
	}
	return faults
}

// descriptors returns the schemas as a stranger reads them, and the package.
func descriptors(t *testing.T) (schemas map[string]jsonObject, names map[string][]string, p jsonObject) {
	t.Helper()
	files, _ := schemaFiles()
	read := func(name string) (o jsonObject) {
		require.NoError(t, json.Unmarshal(files[name], &o), name)
		return o
	}
	schemas, names, p = map[string]jsonObject{}, map[string][]string{}, read(PackageFile)
	for _, r := range p["resources"].([]any) {
		resource := r.(jsonObject)
		name := resource["name"].(string)
		assert.Regexp(t, resourceName, name)
		assert.Nil(t, schemas[name], "two resources are called %s", name)
		assert.NotRegexp(t, `^[/~.]|\\|//`, resource["path"], "a path is relative and below the package")
		schemas[name] = read(resource["schema"].(string))
		for _, f := range schemas[name]["fields"].([]any) {
			names[name] = append(names[name], f.(jsonObject)["name"].(string))
		}
	}
	return schemas, names, p
}

func TestSchemasKeepTheRulesOfTheStandard(t *testing.T) {
	schemas, names, p := descriptors(t)
	require.NotEmpty(t, schemas)
	assert.Regexp(t, resourceName, p["name"])
	for name, s := range schemas {
		assert.Empty(t, broken(s, names), name)
	}
}

// The checker of the test above finds each kind of fault.
func TestBrokenRulesAreFound(t *testing.T) {
	field := func(s jsonObject, name string) jsonObject {
		for _, f := range s["fields"].([]any) {
			if f.(jsonObject)["name"] == name {
				return f.(jsonObject)
			}
		}
		return nil
	}
	for want, change := range map[string]func(s jsonObject){
		"fields: none":              func(s jsonObject) { s["fields"] = []any{} },
		"no name of its own":        func(s jsonObject) { field(s, "kind")["name"] = "sample" },
		"type \"text\"":             func(s jsonObject) { field(s, "kind")["type"] = "text" },
		"key groupChar of a string": func(s jsonObject) { field(s, "kind")["groupChar"] = "," },
		"example is no text":        func(s jsonObject) { field(s, "kind")["example"] = 1.5 },
		"constraint minimum of a":   func(s jsonObject) { field(s, "kind")["constraints"].(jsonObject)["minimum"] = 1.0 },
		"constraint enum: []":       func(s jsonObject) { field(s, "kind")["constraints"].(jsonObject)["enum"] = []any{} },
		"pattern: error parsing":    func(s jsonObject) { field(s, "start")["constraints"].(jsonObject)["pattern"] = "(" },
		"fieldsMatch: some":         func(s jsonObject) { s["fieldsMatch"] = "some" },
		"primaryKey: number":        func(s jsonObject) { s["primaryKey"] = []any{"number"} },
		"foreignKeys: map[fields:[leg]": func(s jsonObject) {
			s["foreignKeys"].([]any)[0] = jsonObject{"fields": []any{"leg"}, "reference": jsonObject{"resource": "legs", "fields": []any{"leg"}}}
		},
	} {
		schemas, names, _ := descriptors(t)
		change(schemas["samples"])
		assert.Contains(t, strings.Join(broken(schemas["samples"], names), "\n"), want)
	}
}

// A sample names its train as the flow checks do, so the starter workbook offers
// those.
func TestTrainsOfSamplesAreThoseOfTheFlowChecks(t *testing.T) {
	schemas, _, _ := descriptors(t)
	assert.Contains(t, fmt.Sprint(schemas["samples"]["foreignKeys"]), "map[fields:[train] reference:map[fields:[train] resource:flows]]")
	assert.Contains(t, fmt.Sprint(schemas["workers"]["foreignKeys"]), "map[fields:[represented_by] reference:map[fields:[worker]]]")
}
