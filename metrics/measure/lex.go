package measure

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/yamlfile"
)

// The whole language of a condition. What is not here is refused: the text goes
// into a statement, and a role that may only read can still do harm with the
// functions of a database.
var (
	keywords  = []string{"or", "and", "not", "is", "null", "true", "false", "between", "in", "case", "when", "then", "else", "end"}
	functions = []string{"coalesce", "least", "greatest", "abs"}
	operators = []string{"<>", "<=", ">=", "=", "<", ">", "+", "-", "*", "/", "(", ")", ","}
)

// Bounds of a condition, so that no text can exhaust the database's parser.
const (
	maxText   = 4000
	maxDepth  = 40
	maxDigits = 9
)

type tokenKind uint8

const (
	keyword tokenKind = iota + 1
	function
	column
	parameter
	number
	text
	operator
)

type token struct {
	kind tokenKind
	word string // without the colon of a parameter and the quotes of a text
	at   int    // offset in the text, from 0; the text is ASCII
}

// fault is a refusal within a condition.
type fault struct {
	at      int // offset in bytes
	message string
	hint    string
}

// columns are the facts by name.
var columns = func() map[string]record.Spec {
	m := make(map[string]record.Spec, len(record.FactSpecs))
	for _, s := range record.FactSpecs {
		m[s.Name] = s
	}
	return m
}()

var columnNames = func() []string {
	var names []string
	for n := range columns {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}()

// lexer turns a condition into tokens and refuses what is not in the language.
type lexer struct {
	src    string
	params []string // declared parameters
	toks   []token
	faults []fault
}

// lex reads a condition. It returns the facts and the parameters that the
// condition reads, each once, in order of first use, and all that is refused.
func lex(src string, params []string) (facts, used []string, faults []fault) {
	l := lexer{src: src, params: params, toks: nil, faults: nil}
	l.scan()
	if len(l.faults) == 0 {
		l.shape()
	}
	if len(l.faults) == 0 {
		l.words()
	}
	for _, t := range l.toks {
		switch {
		case t.kind == column && !slices.Contains(facts, t.word):
			facts = append(facts, t.word)
		case t.kind == parameter && !slices.Contains(used, t.word):
			used = append(used, t.word)
		}
	}
	return facts, used, l.faults
}

func (l *lexer) refuse(at int, hint, format string, args ...any) {
	l.faults = append(l.faults, fault{at: at, message: fmt.Sprintf(format, args...), hint: hint})
}

func (l *lexer) add(k tokenKind, word string, at int) {
	l.toks = append(l.toks, token{kind: k, word: word, at: at})
}

func letter(c byte) bool { return c >= 'a' && c <= 'z' || c == '_' }
func upper(c byte) bool  { return c >= 'A' && c <= 'Z' }
func digit(c byte) bool  { return c >= '0' && c <= '9' }

// scan cuts the text into tokens.
func (l *lexer) scan() {
	if len(l.src) > maxText {
		l.refuse(0, "a condition that long cannot be read aloud; derive a fact instead", "condition of %d characters, %d are allowed", len(l.src), maxText)
		return
	}
	for i := 0; i < len(l.src); {
		c := l.src[i]
		switch {
		case c == ' ' || c == '\n':
			i++
		case letter(c) || upper(c):
			i = l.word(i)
		case digit(c):
			i = l.number(i)
		case c == '\'':
			i = l.text(i)
		case c == ':':
			i = l.parameter(i)
		default:
			i = l.operator(i)
		}
	}
}

func (l *lexer) word(i int) int {
	j := i
	for j < len(l.src) && (letter(l.src[j]) || upper(l.src[j]) || digit(l.src[j])) {
		j++
	}
	w := l.src[i:j]
	_, isColumn := columns[w]
	switch {
	case slices.Contains(keywords, w):
		l.add(keyword, w, i)
	case slices.Contains(functions, w):
		l.add(function, w, i)
	case isColumn:
		l.add(column, w, i)
	case strings.ToLower(w) != w:
		l.refuse(i, fmt.Sprintf("write %q", strings.ToLower(w)), "%q is not in lower case", w)
	case j < len(l.src) && strings.HasPrefix(strings.TrimLeft(l.src[j:], " \n"), "("):
		l.refuse(i, "the functions are "+strings.Join(functions, ", "), "function %q is not allowed", w)
	default:
		hint := yamlfile.DidYouMean(w, slices.Concat(columnNames, keywords, functions))
		l.refuse(i, hint, "%q is no fact", w)
	}
	return j
}

func (l *lexer) number(i int) int {
	j, dot := i, 0
	for j < len(l.src) && (digit(l.src[j]) || l.src[j] == '.') {
		if l.src[j] == '.' {
			dot++
		}
		j++
	}
	w := l.src[i:j]
	for j < len(l.src) && (letter(l.src[j]) || upper(l.src[j]) || digit(l.src[j])) {
		j++
	}
	switch {
	case l.src[i:j] != w || dot > 1 || strings.HasSuffix(w, "."):
		l.refuse(i, "numbers are digits with at most one decimal point between them", "%q is no number", l.src[i:j])
	case len(w)-dot > maxDigits:
		l.refuse(i, "", "number of %d digits, %d are allowed", len(w)-dot, maxDigits)
	default:
		l.add(number, w, i)
	}
	return j
}

func (l *lexer) text(i int) int {
	end := strings.IndexByte(l.src[i+1:], '\'')
	if end < 0 {
		l.refuse(i, "close it with '", "text has no end")
		return len(l.src)
	}
	w := l.src[i+1 : i+1+end]
	for k := range len(w) {
		if c := w[k]; !letter(c) && !digit(c) && c != '-' {
			l.refuse(i+1+k, "a text is a code of the dictionary: lower-case letters, digits and hyphens", "%q is not allowed in a text", string(c))
			return i + end + 2
		}
	}
	l.add(text, w, i)
	return i + end + 2
}

func (l *lexer) parameter(i int) int {
	j := i + 1
	for j < len(l.src) && (letter(l.src[j]) || j > i+1 && digit(l.src[j])) {
		j++
	}
	w := l.src[i+1 : j]
	switch {
	case w == "":
		l.refuse(i, "a parameter is a colon and its name", "%q is not allowed", ":")
	case !slices.Contains(l.params, w):
		l.refuse(i, yamlfile.DidYouMean(w, l.params), "parameter %q is not declared", w)
	default:
		l.add(parameter, w, i)
	}
	return j
}

func (l *lexer) operator(i int) int {
	rest := l.src[i:]
	if strings.HasPrefix(rest, "--") {
		l.refuse(i, "write a space between two minus signs", "%q would begin a comment", "--")
		return i + 2
	}
	if strings.HasPrefix(rest, "/*") {
		l.refuse(i, "comments stand outside the condition, behind #", "%q would begin a comment", "/*")
		return i + 2
	}
	for _, o := range operators {
		if !strings.HasPrefix(rest, o) {
			continue
		}
		// The database reads signs that touch as one operator, whatever that does.
		if signs := rest[:len(rest)-len(strings.TrimLeft(rest, "*/<>="))]; len(signs) > len(o) {
			l.refuse(i, "", "%q is not allowed", signs)
			return i + len(signs)
		}
		l.add(operator, o, i)
		return i + len(o)
	}
	r := []rune(rest)[0]
	hint := ""
	switch r {
	case '!':
		hint = `write "<>"`
	case '"':
		hint = "a text stands between single quotes, a fact stands alone"
	case '\t':
		hint = "indent with spaces"
	}
	l.refuse(i, hint, "%q is not allowed", string(r))
	return i + len(string(r))
}

// operand says whether a token can stand for a value by itself.
func (t token) operand() bool {
	switch t.kind {
	case column, parameter, number, text:
		return true
	case keyword:
		return t.word == "null" || t.word == "true" || t.word == "false"
	default:
		return false
	}
}

// shape checks what could join two harmless tokens into something else, and what
// the database would only refuse at run time. Grammar proper is left to it.
func (l *lexer) shape() {
	if len(l.toks) == 0 {
		l.refuse(0, "leave the key out where there is no condition", "condition is empty")
		return
	}
	var open []token
	for i, t := range l.toks {
		var next token
		if i+1 < len(l.toks) {
			next = l.toks[i+1]
		}
		switch {
		case t.word == "(" && t.kind == operator:
			open = append(open, t)
			if len(open) > maxDepth {
				l.refuse(t.at, "", "brackets are nested deeper than %d", maxDepth)
				return
			}
		case t.word == ")" && t.kind == operator:
			if len(open) == 0 {
				l.refuse(t.at, "", "bracket closes nothing")
				return
			}
			open = open[:len(open)-1]
			if next.operand() || next.kind == function {
				l.refuse(next.at, `write "and", "or" or an operator between`, "%q follows a bracket", next.word)
			}
		case t.word == "/" && t.kind == operator:
			if next.kind != number || strings.Trim(next.word, "0.") == "" {
				l.refuse(t.at, "only a number other than 0 may divide", "division by something that can be 0")
			}
		case t.kind == function && (next.kind != operator || next.word != "("):
			l.refuse(t.at, "", "%q needs its arguments in brackets", t.word)
		case t.operand() && (next.operand() || next.kind == function):
			l.refuse(next.at, `write "and", "or" or an operator between`, "%q follows %q", next.word, t.word)
		case t.operand() && next.kind == operator && next.word == "(":
			l.refuse(next.at, "", "%q is no function", t.word)
		}
	}
	for _, t := range open {
		l.refuse(t.at, "", "bracket is not closed")
	}
}
