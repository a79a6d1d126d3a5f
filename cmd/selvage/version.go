package main

import (
	_ "embed"
	"fmt"

	"github.com/spf13/pflag"
)

// version is set anew when a release is linked.
var version = "0.1.0"

//go:generate go test -run ^TestLicences$ -update

// licences are those of all that is in the program.
//
//go:embed licences.txt
var licences string

func versionCommand() command {
	return command{
		name: "version", summary: "print the version",
		arguments: "[--licences]",
		about:     "Prints the version, or the licences of all that the program is made of.",
		example:   "selvage version\nselvage version --licences",
		define: func(flags *pflag.FlagSet) action {
			all := flags.Bool("licences", false, "print the licences of Selvage and of the software in it")
			return func(t terminal, args []string) (int, error) {
				if len(args) > 0 {
					return 0, misuse("version", "version takes no arguments")
				}
				if *all {
					_, err := fmt.Fprint(t.out, licences)
					return allWell, err
				}
				fmt.Fprintln(t.out, "selvage "+version)
				return allWell, nil
			}
		},
	}
}
