package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"airtally/limits"
	"airtally/reports"
)

func (a *app) limitsCommand() *cobra.Command {
	var query limits.Query
	var sector string
	var asTable bool
	c := &cobra.Command{
		Use:   "limits [TEXT]",
		Short: "search the library of occupational exposure limits",
		Long: "Searches the limits that come with the program for TEXT: a name, a synonym, a\n" +
			"part of one, or a CAS number. Case, spaces, hyphens and Greek letters do not\n" +
			"matter. Without TEXT it lists everything. Limits of substances that are called\n" +
			"TEXT are printed; those with TEXT only within a name are named after them.\n" +
			"--json and --csv have the rows of both, the former first.\n\n" +
			"Exit status: 0 found; 1 nothing found, the nearest names are suggested; 2 wrong\n" +
			"flags.\n\n" + caution,
		Example: "  Everything on toluene, by its CAS number:\n" +
			"    airtally limits 108-88-3\n\n" +
			"  What holds for hexavalent chromium on a building site:\n" +
			"    airtally limits \"chromium vi\" --sector construction\n\n" +
			"  One authority's rows for another program:\n" +
			"    airtally limits --authority NIOSH --csv > niosh.csv",
		RunE: func(_ *cobra.Command, words []string) error {
			query.Text = strings.Join(words, " ")
			query.Sector = limits.Sector(strings.ToLower(sector))
			return a.limits(query, asTable)
		},
	}
	c.Flags().StringVar(&query.CAS, "cas", "", "only what has the CAS `NUMBER`")
	c.Flags().StringSliceVar(&query.Authorities, "authority", nil, "only the limits of `NAME,...`, in that order")
	c.Flags().StringVar(&sector, "sector", "", "only general, construction or maritime `work`")
	c.Flags().BoolVar(&asTable, "csv", false, "print a table (.csv) in place of the text")
	return c
}

func (a *app) limits(query limits.Query, asTable bool) error {
	if err := queryFault(query); err != nil {
		return err
	}
	if a.json && asTable {
		return errors.New("--json and --csv exclude each other; give one")
	}
	list := reports.LimitList{Found: limits.Embedded().Search(query), Query: query, On: now()}
	if len(list.Exact)+len(list.Partial) == 0 {
		a.status = leftOut
		fmt.Fprintln(a.errOut, reports.Wrapped("airtally: "+list.Missing()))
	}
	switch {
	case a.quiet:
		return nil
	case a.json:
		return list.WriteJSON(a.out)
	case asTable:
		return list.WriteCSV(a.out)
	case a.status == leftOut:
		return nil
	default:
		return list.WriteText(a.out, reports.Terminal{Bold: a.bold()})
	}
}

// queryFault checks what can be asked.
func queryFault(q limits.Query) error {
	sectors := []limits.Sector{"", limits.General, limits.Construction, limits.Maritime}
	if !slices.Contains(sectors, q.Sector) {
		return fmt.Errorf("--sector %s: no such sector; expected general, construction or maritime", q.Sector)
	}
	if q.CAS != "" && !limits.IsCAS(q.CAS) {
		return fmt.Errorf("--cas %s: not a CAS number; expected one such as 108-88-3", q.CAS)
	}
	held := limits.Embedded().Authorities()
	for _, name := range q.Authorities {
		if !slices.ContainsFunc(held, func(a string) bool { return limits.SameName(a, name) }) {
			return fmt.Errorf("--authority %s: the library has no limits of it; expected of %s", name, strings.Join(held, ", "))
		}
	}
	return nil
}
