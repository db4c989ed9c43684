package survey

import (
	"slices"
	"strings"

	"airtally/exposure/finding"
	"airtally/limits"
)

// surveyName is a name that the survey has for an analyte.
type surveyName struct {
	name      string
	cas       []string // its CAS numbers: as the survey gives them, else by the library
	substance string   // the one of the library that the name leads to; "" where there is none
}

// nameAnalytes gives the analytes of a laboratory's file the names that the
// survey has for them: by the mapping, by CAS number, by name, by synonym, in
// this order, and only where a single name of the survey is meant. What is
// doubtful keeps its name, and is told of.
func nameAnalytes(rows []LabRow, written map[string]string, surveys []*Survey, list *finding.List) {
	known := namesOf(surveys)
	inFile := map[string]bool{}
	for i := range rows {
		inFile[rows[i].Analyte] = true
	}
	renamed := map[*Asked]*Asked{}
	told := map[Asked]bool{}
	for i := range rows {
		asked := rows[i].Asked
		if _, met := renamed[asked]; !met {
			renamed[asked] = asked
			name := translated(written, asked.Analyte)
			if name == asked.Analyte {
				key := Asked{Analyte: asked.Analyte, CAS: asked.CAS}
				name = matchAnalyte(&rows[i], known, inFile, list, told[key])
				told[key] = true
			}
			if name != asked.Analyte {
				other := *asked
				other.Analyte = name
				renamed[asked] = &other
			}
		}
		rows[i].Asked = renamed[asked]
	}
}

// namesOf returns the names that surveys have for analytes, each once.
func namesOf(surveys []*Survey) []surveyName {
	var names []surveyName
	at := map[string]int{}
	for _, s := range surveys {
		s.eachAnalyte(func(name, cas string) {
			if name == "" {
				return
			}
			n, met := at[name]
			if !met {
				n = len(names)
				at[name], names = n, append(names, surveyName{name: name})
			}
			if cas != "" && casFault(cas) == "" && !slices.Contains(names[n].cas, cas) {
				names[n].cas = append(names[n].cas, cas)
			}
		})
	}
	for i := range names {
		substance, cas := inLibrary(names[i].name)
		names[i].substance = substance
		if names[i].cas == nil {
			names[i].cas = cas
		}
	}
	return names
}

// eachAnalyte calls do with every analyte that the survey names, and its CAS
// number where one stands beside it.
func (s *Survey) eachAnalyte(do func(name, cas string)) {
	last := (*Asked)(nil)
	for i := range s.Lab {
		if s.Lab[i].Asked != last {
			last = s.Lab[i].Asked
			do(last.Analyte, last.CAS)
		}
	}
	for i := range s.Limits {
		do(s.Limits[i].Analyte, s.Limits[i].CAS)
	}
	for i := range s.Derived {
		do(s.Derived[i].Derived, "")
		do(s.Derived[i].Analyte, "")
	}
	for i := range s.Mixtures {
		do(s.Mixtures[i].Analyte, "")
	}
	for i := range s.History {
		do(s.History[i].Analyte, "")
	}
}

// matchAnalyte returns the survey's name for the analyte of a row, its own
// where there is none or it is in doubt.
func matchAnalyte(row *LabRow, known []surveyName, inFile map[string]bool, list *finding.List, told bool) string {
	own := row.Asked
	if slices.ContainsFunc(known, func(s surveyName) bool { return s.name == own.Analyte }) {
		return own.Analyte
	}
	tell := func(code finding.Code, v finding.Values) {
		if !told {
			v["read"], v["cas"] = own.Analyte, withCAS(own.CAS)
			list.Add(code, row.Place("analyte"), []string{row.Sample, own.Analyte}, v)
		}
	}
	substance, _ := inLibrary(own.Analyte)
	meant, by := meantBy(own, substance, known)
	contradicts := len(meant) == 1 && !meant[0].agrees(own, substance)
	switch {
	case len(meant) == 1 && !contradicts:
		tell(finding.LabAnalyteNamed, finding.Values{"name": meant[0].name, "by": by})
		return meant[0].name
	case len(meant) > 0:
		var names []string
		for _, s := range meant {
			names = append(names, s.name)
		}
		tell(finding.LabAnalyteDoubtful, finding.Values{"near": strings.Join(names, " and ")})
	default:
		var names []string
		for _, s := range known {
			if !inFile[s.name] && s.agrees(own, substance) { // what the laboratory tells apart is not one
				names = append(names, s.name)
			}
		}
		if near := nearest(own.Analyte, names); near != "" {
			tell(finding.LabAnalyteDoubtful, finding.Values{"near": near})
		}
	}
	return own.Analyte
}

func withCAS(cas string) string {
	if cas == "" {
		return ""
	}
	return " (CAS " + cas + ")"
}

// meantBy returns the names of the survey that an analyte may have, and by
// what.
func meantBy(own *Asked, substance string, known []surveyName) (meant []surveyName, by string) {
	for _, way := range []struct {
		by   string
		same func(surveyName) bool
	}{
		{"CAS number", func(s surveyName) bool {
			return own.CAS != "" && casFault(own.CAS) == "" && slices.Contains(s.cas, own.CAS) && expressedAlike(own.Analyte, s.name)
		}},
		{"name", func(s surveyName) bool { return limits.SameName(own.Analyte, s.name) }},
		{"synonym", func(s surveyName) bool {
			return substance != "" && substance == s.substance && expressedAlike(own.Analyte, s.name)
		}},
	} {
		for _, s := range known {
			if way.same(s) {
				meant = append(meant, s)
			}
		}
		if meant != nil {
			return meant, way.by
		}
	}
	return nil, ""
}

// agrees reports whether neither the CAS number of an analyte nor what the
// library has under its name speaks for another substance than the survey's.
func (s surveyName) agrees(own *Asked, substance string) bool {
	if own.CAS != "" && len(s.cas) > 0 && !slices.Contains(s.cas, own.CAS) {
		return false
	}
	return substance == "" || s.substance == "" || substance == s.substance
}

// expressedAlike reports whether neither of two names says what it is expressed
// as, or both are one name: a mass as Cr is no mass of the compound.
func expressedAlike(a, b string) bool {
	return limits.SameName(a, b) || !saysAs(a) && !saysAs(b)
}

func saysAs(name string) bool {
	name = strings.ToLower(name)
	return strings.Contains(name, "(as ") || strings.Contains(name, " as ")
}

// inLibrary returns the one substance of the library of limits that a name leads
// to, and its CAS numbers; "" where there is none or there are several.
func inLibrary(name string) (substance string, cas []string) {
	found := limits.Embedded().Search(limits.Query{Text: name})
	if len(found.Exact) != 1 || limits.IsCAS(name) {
		return "", nil
	}
	for _, e := range found.Exact[0].Entries {
		for _, number := range e.CASNumbers() {
			if !slices.Contains(cas, number) {
				cas = append(cas, number)
			}
		}
	}
	return found.Exact[0].Name, cas
}

func librarySubstance(name string) string {
	substance, _ := inLibrary(name)
	return substance
}
