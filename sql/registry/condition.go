package registry

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"chestrise/metrics/cell"
)

var parameterName = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)

// column is the name under which a parameter stands beside the facts. It cannot
// be mistaken for a fact or a keyword.
func column(parameter string) string { return "p_" + parameter }

// compiled is a condition as it goes into a statement: parameters have become
// columns of the table um.
type compiled struct {
	text  string
	moved []move
}

// move says that from the rune at of the text on, the condition lies by runes
// further left.
type move struct{ at, by int }

// compile guards and rewrites a condition. metrics/measure lets only an
// allow-list of tokens through; this second look refuses what could end or widen
// the expression, should anything ever come past the first.
func compile(c cell.Condition, parameters map[string]bool) (compiled, error) {
	if err := guard(c.Text); err != nil {
		return compiled{}, err
	}
	var out strings.Builder
	var z compiled
	quoted := false
	runes := 0 // runes written so far
	for i := 0; i < len(c.Text); {
		r, size := utf8.DecodeRuneInString(c.Text[i:])
		if r == '\'' {
			quoted = !quoted
		}
		if r != ':' || quoted {
			out.WriteRune(r)
			runes++
			i += size
			continue
		}
		end := i + 1
		for end < len(c.Text) && isNamePart(c.Text[end]) {
			end++
		}
		name := c.Text[i+1 : end]
		if !parameters[name] {
			return z, fmt.Errorf("parameter :%s has no value", name)
		}
		written := "um." + column(name)
		out.WriteString(written)
		runes += len(written)
		z.moved = append(z.moved, move{at: runes, by: len(written) - (end - i)})
		i = end
	}
	z.text = out.String()
	return z, nil
}

func isNamePart(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '_'
}

// original maps a rune of the compiled text, counted from 1, to the rune of the
// condition; a rune inside a parameter maps to somewhere inside the parameter.
func (z compiled) original(at int) int {
	by := 0
	for _, m := range z.moved {
		if at <= m.at {
			break
		}
		by += m.by
	}
	return max(1, at-by)
}

func guard(text string) error {
	depth := 0
	quoted := false
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case c == '\'':
			quoted = !quoted
		case c >= 0x7f, c < ' ' && c != '\n' && c != '\t', strings.IndexByte(`;"$\@[]{}#&|^~!?`+"`", c) >= 0:
			return fmt.Errorf("a condition cannot hold %q", c)
		case quoted:
		case c == '(':
			depth++
		case c == ')':
			if depth--; depth < 0 {
				return errors.New("a bracket closes that was not opened")
			}
		}
	}
	for _, s := range []string{"--", "/*", "*/", "::"} {
		if strings.Contains(text, s) {
			return fmt.Errorf("a condition cannot hold %q", s)
		}
	}
	if quoted || depth != 0 {
		return errors.New("a quote or a bracket is not closed")
	}
	return nil
}
