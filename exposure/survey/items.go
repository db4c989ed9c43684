package survey

import (
	"slices"
	"time"

	"airtally/exposure/finding"
)

// bindItems reads the survey table. The value of an item is written as its
// type wants it: numbers with a point, choices as named, dates year first. A
// fact without its value is one not known yet; a setting without one is a slip.
func bindItems(r *reader) func(*Item) {
	item, value := r.field("item"), r.field("value")
	r.expecting = func(f *field) string {
		d := describedItem(r.text(item))
		switch {
		case d == nil:
			return f.Help
		case d.Default == "":
			return ""
		}
		return d.Help + ", such as " + d.Default
	}
	return func(i *Item) {
		name := r.id(item)
		d := describedItem(name)
		if d == nil {
			r.left = true
			names := itemNames()
			r.list.Add(finding.UnknownItem, r.Place(r.row, item.Name), r.subject(), finding.Values{
				"read": name, "near": didYouMean(name, names), "expected": names})
			return
		}
		as := *value
		as.Column = &Column{Name: value.Name, Type: d.Type, Unit: d.Unit, Required: true, Range: d.Range, Choices: d.Choices}
		*i = Item{Ref: r.ref(), Name: d.Name, Value: r.itemValue(&as)}
	}
}

func (r *reader) itemValue(f *field) string {
	switch f.Type {
	case NumberCell:
		if v := r.number(f); v.Known {
			return plainly(v.Value)
		}
		return ""
	case ChoiceCell:
		return r.choice(f)
	case MomentCell:
		return writeMoment(r.moment(f))
	}
	if c := r.cell(f); c.kind == dateKind || c.kind == timeKind {
		return writeMoment(r.moment(f)) // a single holiday in a date cell
	}
	return r.text(f)
}

func itemNames() []string {
	var names []string
	for i := range items {
		names = append(names, items[i].Name)
	}
	return names
}

// describedItem returns the item of that name, nil where there is none.
func describedItem(name string) *ItemDescription {
	key := simplify(name)
	for i := range items {
		d := &items[i]
		if simplify(d.Name) == key || simplify(withoutUnit(d)) == key ||
			slices.ContainsFunc(d.Synonyms, func(s string) bool { return simplify(s) == key }) {
			return d
		}
	}
	return nil
}

// clockOf returns the clock of the zone that the survey names.
func clockOf(items []Item, list *finding.List) clock {
	i := slices.IndexFunc(items, func(it Item) bool { return it.Name == "timezone" })
	if i < 0 {
		return clock{zone: time.UTC}
	}
	zone, err := time.LoadLocation(items[i].Value)
	if err != nil || items[i].Value == "" || items[i].Value == "Local" {
		list.Add(finding.UnknownTimezone, items[i].Place("value"), nil, finding.Values{"read": items[i].Value})
		return clock{zone: time.UTC}
	}
	return clock{zone: zone, zoned: true}
}
