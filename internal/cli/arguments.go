package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// argsAreUsage makes wrong arguments of every command errors of usage, in words that
// name the arguments.
func argsAreUsage(c *cobra.Command) {
	if check := c.Args; check != nil {
		c.Args = func(c *cobra.Command, args []string) error {
			err := check(c, args)
			switch {
			case err == nil:
				return nil
			case c.HasSubCommands():
				return usageError{err} // it names the command that nobody knows
			}
			return usageError{wrongArgs(c, args)}
		}
	}
	for _, sub := range c.Commands() {
		argsAreUsage(sub)
	}
}

// wrongArgs says which arguments of a command are missing, or which one is too many.
// Their names are those of its usage line; one in brackets may be left out.
func wrongArgs(c *cobra.Command, args []string) error {
	var names []string
	needed := 0
	for _, name := range strings.Fields(c.Use)[1:] {
		if strings.HasPrefix(name, "--") {
			break // a flag, and what follows is its value
		}
		names = append(names, name)
		if !strings.HasPrefix(name, "[") {
			needed++
		}
	}
	if len(args) < needed {
		missing := names[len(args):needed]
		is := " is missing"
		if len(missing) > 1 {
			is = " are missing"
		}
		return fmt.Errorf("%s: %s", c.CommandPath(), strings.Join(missing, ", ")+is)
	}
	takes := "no argument"
	if len(names) > 0 {
		takes = "only " + strings.Join(names, " ")
	}
	return fmt.Errorf("%s: %q is too much, it takes %s", c.CommandPath(), args[len(names)], takes)
}
