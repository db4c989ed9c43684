// Command makedemo turns the demo survey's folder of text tables into the
// workbook that holds the same cells: run "go generate ./testdata/makedemo".
package main

import (
	"fmt"
	"os"
)

//go:generate go run . ../demo ../demo.xlsx

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "makedemo:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 2 {
		return fmt.Errorf("want the folder of tables and the workbook to write, got %d arguments", len(args))
	}
	book, err := build(args[0])
	if err != nil {
		return err
	}
	defer book.Close()
	data, err := book.WriteToBuffer()
	if err != nil {
		return err
	}
	return os.WriteFile(args[1], data.Bytes(), 0o644)
}
