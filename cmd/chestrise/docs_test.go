package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the documents promise is what the program says.
func TestTheDocumentsSayWhatTheProgramSays(t *testing.T) {
	readme := readFile(t, "../../README.md")
	for _, m := range exitMeanings {
		require.Contains(t, readme, "| "+m[0]+" | "+m[1]+" |")
	}
	root := newRoot(streams{}, clock)
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() && c.Name() != "help" && c.Name() != "completion" {
			require.Contains(t, readme, "`"+c.Name(), "README lists the command")
		}
	}
	table := strings.TrimSpace(readFile(t, "../../etl/testdata/bad-input.md"))
	require.Contains(t, readFile(t, "../../DEVELOPERS.md"), table, "the table of bad input is the tested one")
}
