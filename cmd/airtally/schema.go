package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"airtally/reports"
)

func (a *app) schemaCommand() *cobra.Command {
	var force bool
	c := &cobra.Command{
		Use:   "schema DIR",
		Short: "the input tables as Frictionless Table Schema",
		Long: "Writes into DIR what the input tables are, in the open standard Frictionless\n" +
			"Table Schema, so that other programs can check and load them: a file\n" +
			"NAME.schema.json for each table, and datapackage.json for a folder of .csv\n" +
			"tables as a whole. airtally itself reads more than the schemas allow: other\n" +
			"spellings of choices, bare times, offsets, decimal commas, percent.\n\n" +
			"Exit status: 0 written; 2 not written.\n\n" + caution,
		Example: "  Beside the tables of a survey:\n" +
			"    airtally schema week-10",
		Args: func(c *cobra.Command, folders []string) error {
			if len(folders) != 1 {
				return fmt.Errorf("name one folder to write into, as in: %s schemas", c.CommandPath())
			}
			return nil
		},
		RunE: func(_ *cobra.Command, folders []string) error { return a.schema(folders[0], force) },
	}
	c.Flags().BoolVar(&force, "force", false, "write over files that are there already")
	return c
}

func (a *app) schema(folder string, force bool) error {
	written, err := reports.WriteSchemas(folder, force)
	if err != nil || a.quiet {
		return err
	}
	for _, path := range written {
		if _, err := fmt.Fprintln(a.out, path); err != nil {
			return err
		}
	}
	return nil
}
