package limits

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"airtally/stats"
)

// row gives the cells of a line by their column's name, until the next is read.
type row map[string]string

// headerLine returns what a file says in its "# name: " line.
func headerLine(text, name string) string {
	_, line, _ := strings.Cut(text, "\n# "+name+": ")
	line, _, _ = strings.Cut(line, "\n")
	return line
}

// eachRow calls add for each row of a file whose leading # lines say where it
// comes from; source is what its "# source:" line says.
func eachRow(text string, add func(r row, source string) error) error {
	source := headerLine(text, "source")
	in := csv.NewReader(strings.NewReader(text))
	in.Comment, in.ReuseRecord = '#', true
	first, err := in.Read()
	columns := slices.Clone(first)
	r := make(row, len(columns))
	for err == nil {
		var cells []string
		if cells, err = in.Read(); err != nil {
			break
		}
		for i, c := range columns {
			r[c] = cells[i]
		}
		if fault := add(r, source); fault != nil {
			line, _ := in.FieldPos(0)
			return fmt.Errorf("line %d: %w", line, fault)
		}
	}
	if err == io.EOF {
		return nil
	}
	return err
}

func (r row) entry(source string) (Entry, error) {
	forms := parts(r["form"])
	if len(forms) == 0 {
		return Entry{}, fmt.Errorf("form is empty")
	}
	e := Entry{
		Limit: Limit{
			Analyte:       r["substance"],
			CAS:           r["cas"],
			Form:          forms[0],
			As:            r["as"],
			Authority:     r["authority"],
			Instrument:    r["instrument"],
			Kind:          Kind(r["kind"]),
			ShiftAdjusted: r["shift_adjusted"] == "yes",
			Source:        source + " (" + r["status"] + ")",
		},
		ValueOther: r["value_other"],
		UnitOther:  r["unit_other"],
		Skin:       r["skin"] == "Y",
		ValidFrom:  r["valid_from"],
		ValidTo:    r["valid_to"],
		Use:        Use(r["use"]),
		Status:     r["status"],
		Note:       r["note"],
		AlsoForms:  forms[1:],
	}
	if e.Status == FromMemory {
		e.Source = source + "; " + MemoryMark
	}
	for _, s := range parts(r["sector"]) {
		if s != "all" {
			e.Sectors = append(e.Sectors, Sector(s))
		}
	}
	if r["comparator"] == "at or above" {
		e.Comparator = AtOrAbove
	}
	return e, r.numbers(&e)
}

// fallbackMin is what a ceiling of no stated time is averaged over where it
// is not measured as it passes. Source: 29 CFR 1910.1000(a)(1).
const fallbackMin = 15

// numbers reads the numeric cells of a row and chooses the value to compare
// with: as the list publishes it, and of ppm and mg/m³ printed side by side
// the ppm, which governs (29 CFR 1910.1000 Table Z-1, note b).
func (r row) numbers(e *Entry) error {
	var averaging stats.Optional
	for _, c := range []struct {
		column string
		number *stats.Optional
	}{
		{"molecular_weight", &e.MolecularWeight},
		{"value_ppm", &e.ValuePPM},
		{"value_mgm3", &e.ValueMgM3},
		{"averaging_min", &averaging},
	} {
		text := r[c.column]
		if text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return fmt.Errorf("%s: %w", c.column, err)
		}
		*c.number = stats.Some(v)
	}
	e.StatedMin = averaging.Value
	if e.AveragingMin = averaging.Value; e.AveragingMin == 0 {
		e.AveragingMin = fallbackMin
	}
	switch {
	case r["value_published"] != "":
		return e.publish(r["value_published"], r["unit_published"])
	case e.ValuePPM.Known:
		e.Value, e.Unit = e.ValuePPM.Value, PartsPerMillion
	case e.ValueMgM3.Known:
		e.Value, e.Unit = e.ValueMgM3.Value, MilligramsPerM3
	case e.Use == Compared:
		return e.publish(e.ValueOther, e.UnitOther)
	}
	return nil
}

// publish sets the value and unit of a limit by their printed texts.
func (e *Entry) publish(value, unit string) error {
	v, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return fmt.Errorf("value: %w", err)
	}
	for _, u := range Units {
		if u.Name == unit {
			e.Value, e.Unit = v, u
			return nil
		}
	}
	return fmt.Errorf("no unit %q", unit)
}
