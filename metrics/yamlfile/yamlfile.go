// Package yamlfile reads YAML configuration strictly: unknown keys, missing keys,
// wrong types and wrong words are all reported at once, each at its line and
// column, with the nearest key or word where it may be a slip of the pen.
package yamlfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	yaml "github.com/goccy/go-yaml/token"
)

// File is one YAML file being read. Reading goes on after a problem, so that all
// of them are reported at once.
type File struct {
	Path     string
	Lines    []string // of the source, once Root has run
	Problems Problems
}

// Report notes a problem at a token; nil stands for the file as a whole. The hint
// may be empty.
func (f *File) Report(t *yaml.Token, hint, format string, args ...any) {
	p := Problem{File: f.Path, Line: 0, Column: 0, Message: fmt.Sprintf(format, args...), Hint: hint}
	if t != nil && t.Position != nil {
		p.Line, p.Column = t.Position.Line, t.Position.Column
	}
	f.Problems = append(f.Problems, p)
}

// Root parses the file and returns its one document, nil after a problem.
func (f *File) Root(src []byte) ast.Node {
	f.Lines = strings.Split(string(src), "\n")
	if i := slices.IndexFunc(f.Lines, func(l string) bool { return strings.HasSuffix(l, "\r") }); i >= 0 {
		f.Problems = append(f.Problems, Problem{File: f.Path, Line: i + 1, Column: len(f.Lines[i]), Message: "line ends with a carriage return", Hint: "save the file with Unix line ends"})
		return nil
	}
	parsed, err := parser.ParseBytes(src, 0)
	if err != nil {
		f.Problems = append(f.Problems, syntaxProblem(f.Path, err))
		return nil
	}
	var docs []*ast.DocumentNode
	for _, d := range parsed.Docs {
		if d.Body != nil {
			docs = append(docs, d)
		}
	}
	switch {
	case len(docs) == 0:
		f.Report(nil, "", "file is empty")
		return nil
	case len(docs) > 1:
		f.Report(Start(docs[1].Body), "one document a file", "second document")
		return nil
	}
	return docs[0].Body
}

// syntaxProblem turns the parser's "[line:column] message" with its excerpt into
// a problem.
func syntaxProblem(path string, err error) Problem {
	p := Problem{File: path, Line: 0, Column: 0, Message: "", Hint: ""}
	msg, _, _ := strings.Cut(err.Error(), "\n")
	if rest, ok := strings.CutPrefix(msg, "["); ok {
		if place, m, ok := strings.Cut(rest, "] "); ok {
			l, c, _ := strings.Cut(place, ":")
			p.Line, _ = strconv.Atoi(l)
			p.Column, _ = strconv.Atoi(c)
			msg = m
		}
	}
	p.Message = strings.ToLower(msg[:min(1, len(msg))]) + msg[min(1, len(msg)):]
	return p
}

// Keys reads a mapping. Every key must be one of those given; the required ones
// must be there.
func (f *File) Keys(n ast.Node, what string, required []string, read map[string]func(ast.Node)) {
	var pairs []*ast.MappingValueNode
	switch m := n.(type) {
	case *ast.MappingNode:
		pairs = m.Values
	case *ast.MappingValueNode:
		pairs = []*ast.MappingValueNode{m}
	default:
		f.Report(n.GetToken(), "", "%s must be a list of keys and values", what)
		return
	}
	known := make([]string, 0, len(read))
	for k := range read {
		known = append(known, k)
	}
	slices.Sort(known)
	var seen []string
	for _, p := range pairs {
		k := p.Key.GetToken().Value
		seen = append(seen, k)
		fn, ok := read[k]
		switch {
		case !ok:
			hint := DidYouMean(k, known)
			if hint == "" {
				hint = "the keys are " + strings.Join(known, ", ")
			}
			f.Report(p.Key.GetToken(), hint, "unknown key %q in %s", k, what)
		case p.Value == nil || p.Value.Type() == ast.NullType:
			f.Report(p.Key.GetToken(), "leave the key out", "key %q of %s has no value", k, what)
		default:
			fn(p.Value)
		}
	}
	for _, k := range required {
		if !slices.Contains(seen, k) {
			f.Report(Start(n), "", "%s lacks the key %q", what, k)
		}
	}
}

// Start is the token a reader sees first: the key of a mapping, not its colon.
func Start(n ast.Node) *yaml.Token {
	switch m := n.(type) {
	case *ast.MappingNode:
		if !m.IsFlowStyle && len(m.Values) > 0 {
			return m.Values[0].Key.GetToken()
		}
	case *ast.MappingValueNode:
		return m.Key.GetToken()
	}
	return n.GetToken()
}

// Pairs reads a mapping whose keys are free.
func (f *File) Pairs(n ast.Node, what string, read func(key *yaml.Token, v ast.Node)) {
	switch m := n.(type) {
	case *ast.MappingNode:
		for _, p := range m.Values {
			read(p.Key.GetToken(), p.Value)
		}
	case *ast.MappingValueNode:
		read(m.Key.GetToken(), m.Value)
	default:
		f.Report(n.GetToken(), "", "%s must be a list of keys and values", what)
	}
}

// Items reads a sequence.
func (f *File) Items(n ast.Node, what string, read func(ast.Node)) {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		f.Report(n.GetToken(), "begin each item with a hyphen", "%s must be a list", what)
		return
	}
	for _, v := range s.Values {
		read(v)
	}
}

// Scalar is a node's text; false, with a problem, where it is no scalar.
func (f *File) Scalar(n ast.Node, what string) (string, bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, true
	case *ast.LiteralNode:
		return strings.TrimRight(v.Value.Value, "\n"), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return n.GetToken().Value, true
	}
	f.Report(n.GetToken(), "", "%s must be one value", what)
	return "", false
}

// Sentence reads words into one line.
func (f *File) Sentence(to *string, what string) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := f.Scalar(n, what)
		if !ok {
			return
		}
		*to = strings.Join(strings.Fields(s), " ")
		if *to == "" {
			f.Report(n.GetToken(), "leave the key out", "%s is empty", what)
		}
	}
}

// Sentences reads a list of words.
func (f *File) Sentences(to *[]string, what string) func(ast.Node) {
	return func(n ast.Node) {
		f.Items(n, what, func(v ast.Node) {
			var s string
			f.Sentence(&s, what)(v)
			*to = append(*to, s)
		})
	}
}

// Float reads a number.
func (f *File) Float(to *float64, what string) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := f.Scalar(n, what)
		if !ok {
			return
		}
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || v != v || v > 1e9 || v < -1e9 {
			f.Report(n.GetToken(), "", "%s is no number: %q", what, s)
			return
		}
		*to = v
	}
}

// Integer reads a whole number from low to high.
func (f *File) Integer(to *int, what string, low, high int) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := f.Scalar(n, what)
		if !ok {
			return
		}
		v, err := strconv.Atoi(s)
		if err != nil || v < low || v > high {
			f.Report(n.GetToken(), "", "%s must be a whole number from %d to %d, not %q", what, low, high, s)
			return
		}
		*to = v
	}
}

// Boolean reads true or false.
func (f *File) Boolean(to *bool, what string) func(ast.Node) {
	return func(n ast.Node) {
		b, ok := n.(*ast.BoolNode)
		if !ok {
			f.Report(n.GetToken(), "", "%s must be true or false", what)
			return
		}
		*to = b.Value
	}
}

// OneOf reads one of a list of words.
func OneOf[T ~string](f *File, to *T, what string, words ...T) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := f.Scalar(n, what)
		if !ok {
			return
		}
		if !slices.Contains(words, T(s)) {
			plain := make([]string, len(words))
			for i, w := range words {
				plain[i] = string(w)
			}
			hint := DidYouMean(s, plain)
			if hint == "" {
				hint = "one of " + strings.Join(plain, ", ")
			}
			f.Report(n.GetToken(), hint, "%s %q is not known", what, s)
			return
		}
		*to = T(s)
	}
}
