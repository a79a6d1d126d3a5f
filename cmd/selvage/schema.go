package main

import (
	"fmt"

	"github.com/spf13/pflag"

	"selvage/report"
)

func schemaCommand() command {
	return command{
		name: "schema", summary: "print the JSON Schema of a record",
		arguments: "[NAME]",
		about: `Prints the JSON Schema (draft 2020-12) of what programs read: every key, its
unit and what it means. Without NAME it lists them: audit is the
NAME-coverage.json of a coverage note, job the job record, vet and prepare what
these print with --json. All refer to common, which has to lie beside them.`,
		example: "selvage schema\nselvage schema audit > audit.json\nselvage schema common > common.json",
		define: func(*pflag.FlagSet) action {
			return func(t terminal, args []string) (int, error) {
				if len(args) > 1 {
					return 0, misuse("schema", "schema prints one schema at a time")
				}
				if len(args) == 0 {
					for _, name := range report.SchemaNames() {
						fmt.Fprintln(t.out, name)
					}
					return allWell, nil
				}
				text, err := report.Schema(args[0])
				if err != nil {
					return 0, err
				}
				_, err = t.out.Write(text)
				return allWell, err
			}
		},
	}
}
