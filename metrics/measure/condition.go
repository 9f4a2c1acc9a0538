package measure

import (
	"github.com/goccy/go-yaml/ast"

	"chestrise/metrics/cell"
	"chestrise/metrics/yamlfile"
)

// ReadCondition reads a condition that stands in another file than a measure's, by the
// same rules, without parameters. Problems are reported at their place in the file.
func ReadCondition(f *yamlfile.File, to *cell.Condition, what string) func(ast.Node) {
	return func(n ast.Node) {
		r := &reader{File: f, d: nil, conditions: nil}
		c, ok := r.placed(n, what)
		if !ok {
			return
		}
		facts, params, faults := lex(c.Text, nil)
		c.Facts, c.Params = facts, params
		for _, x := range faults {
			line, column := Place(c, x.at+1)
			f.Problems = append(f.Problems, Problem{File: f.Path, Line: line, Column: column, Message: what + ": " + x.message, Hint: x.hint})
		}
		*to = c
	}
}
