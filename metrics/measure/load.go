package measure

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	yaml "github.com/goccy/go-yaml/token"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/yamlfile"
)

// Load reads every *.yaml file of the folders (paths within fsys, "." for the
// root) into one catalogue. Names in messages are prefix joined with the path in
// fsys. All problems of all files are reported at once, as Problems.
func Load(fsys fs.FS, prefix string, folders ...string) (Catalogue, error) {
	var all Problems
	var defs []Definition
	for _, folder := range folders {
		names, err := fs.Glob(fsys, path.Join(folder, "*.yaml"))
		if err != nil {
			return Catalogue{}, fmt.Errorf("measures in %s: %w", folder, err)
		}
		if len(names) == 0 {
			all = append(all, Problem{File: path.Join(prefix, folder), Line: 0, Column: 0, Message: "no measure here", Hint: "a measure is a file named after its id, such as born-before-37-weeks.yaml"})
		}
		for _, name := range names {
			src, err := fs.ReadFile(fsys, name)
			if err != nil {
				return Catalogue{}, fmt.Errorf("measure %s: %w", path.Join(prefix, name), err)
			}
			d, problems := read(path.Join(prefix, name), src)
			all = append(all, problems...)
			defs = append(defs, d)
		}
	}
	all = append(all, together(defs)...)
	if err := all.Err(); err != nil {
		return Catalogue{}, err
	}
	return newCatalogue(defs), nil
}

// read makes a definition of one file.
func read(name string, src []byte) (Definition, Problems) {
	f := &yamlfile.File{Path: name, Lines: nil, Problems: nil}
	var d Definition
	d.File, d.Text = name, string(src)
	root := f.Root(src)
	if root == nil {
		return d, f.Problems
	}
	r := &reader{File: f, d: &d, conditions: nil}
	f.Keys(root, "the measure",
		[]string{"id", "title", "question", "family", "tier", "version", "data", "direction", "population", "missing", "chart", "examples"},
		map[string]func(ast.Node){
			"id":         r.id,
			"title":      f.Sentence(&d.Title, "title"),
			"question":   f.Sentence(&d.Question, "question"),
			"family":     yamlfile.OneOf(f, &d.Family, "family", Process, Outcome, Balancing, Descriptive),
			"tier":       yamlfile.OneOf(f, &d.Tier, "tier", Core, Further),
			"order":      f.Integer(&d.Order, "order", 1, 999),
			"version":    f.Integer(&d.Version, "version", 1, 9999),
			"data":       yamlfile.OneOf(f, &d.Data, "data", Proportion, Value, RareEvent),
			"direction":  yamlfile.OneOf(f, &d.Direction, "direction", Up, Down, None),
			"unit":       f.Sentence(&d.Unit, "unit"),
			"unit_words": f.Sentence(&d.UnitWords, "unit_words"),
			"population": r.clause(&d.Population, "population"),
			"exclusions": r.reasons(&d.Exclusions, "exclusion"),
			"exceptions": r.reasons(&d.Exceptions, "exception"),
			"met":        r.clause(&d.Met, "met"),
			"missed":     r.clause(&d.Missed, "missed"),
			"presumed":   r.clause(&d.Presumed, "presumed"),
			"value":      r.value,
			"missing":    r.missing,
			"coverage":   r.coverage,
			"strata":     r.strata,
			"chart":      r.chart,
			"aim":        r.aim,
			"parameters": r.parameters,
			"limits":     r.limits,
			"citations":  r.citations,
			"notes":      f.Sentences(&d.Notes, "notes"),
			"cautions":   f.Sentences(&d.Cautions, "cautions"),
			"beside":     r.beside,
			"examples":   r.examples,
		})
	r.compile()
	r.consistent(root)
	d.Hash = d.hash()
	return d, f.Problems
}

// reader fills one definition.
type reader struct {
	*yamlfile.File
	d          *Definition
	conditions []pending // compiled once the parameters are known
}

// pending is a condition waiting for the parameters to be read.
type pending struct {
	part string
	at   func() *cell.Condition // where the target lies in a slice that may still move
}

func (r *reader) id(n ast.Node) {
	s, ok := r.Scalar(n, "id")
	if !ok {
		return
	}
	for _, c := range s {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '-' {
			r.Report(n.GetToken(), "", "id %q is not of lower-case letters, digits and hyphens", s)
			return
		}
	}
	if want := strings.TrimSuffix(path.Base(r.Path), ".yaml"); s != want {
		r.Report(n.GetToken(), "name the file "+s+".yaml", "id %q is not the name of the file", s)
	}
	r.d.ID = s
}

// condition reads the text and the place of a condition; it is compiled later.
func (r *reader) condition(part string, at func() *cell.Condition) func(ast.Node) {
	return func(n ast.Node) {
		c, ok := r.placed(n, part)
		if !ok {
			c.Text = "null" // present; the definition is of no use anyway
		}
		*at() = c
		if !ok {
			return
		}
		r.conditions = append(r.conditions, pending{part: part, at: at})
	}
}

// placed reads a condition with its place: text as written, so that a place in
// the text is a place in the file.
func (r *reader) placed(n ast.Node, part string) (cell.Condition, bool) {
	c := cell.Condition{Text: "", Facts: nil, Params: nil, File: r.Path, Line: 0, Column: 0}
	switch v := n.(type) {
	case *ast.StringNode:
		t := v.GetToken()
		c.Text, c.Line, c.Column = v.Value, t.Position.Line, t.Position.Column
	case *ast.LiteralNode:
		if !strings.HasPrefix(v.Start.Value, "|") {
			r.Report(v.Start, `begin it with "|"`, "%s is a folded block: places in it would be lost", part)
			return c, false
		}
		c.Text = strings.TrimRight(v.Value.Value, "\n ")
		c.Line = v.Start.Position.Line + 1
		for c.Line <= len(r.Lines) && strings.TrimSpace(r.Lines[c.Line-1]) == "" {
			c.Line++
		}
		if c.Line <= len(r.Lines) {
			l := r.Lines[c.Line-1]
			c.Column = len(l) - len(strings.TrimLeft(l, " ")) + 1
		}
		c.Text = strings.TrimLeft(c.Text, "\n")
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		t := n.GetToken()
		c.Text, c.Line, c.Column = t.Value, t.Position.Line, t.Position.Column
	default:
		r.Report(n.GetToken(), "", "%s must be one condition", part)
		return c, false
	}
	for i, want := range strings.Split(c.Text, "\n") {
		if l := c.Line + i - 1; l < 0 || l >= len(r.Lines) || want != "" && (len(r.Lines[l]) < c.Column || !strings.HasPrefix(r.Lines[l][c.Column-1:], want)) {
			r.Report(n.GetToken(), `write it on one line without quotes around it, or as a block that begins with "|"`, "%s is not written as it stands", part)
			return c, false
		}
	}
	return c, true
}

// compile lexes the conditions that were read.
func (r *reader) compile() {
	var names []string
	for _, p := range r.d.Parameters {
		names = append(names, p.Name)
	}
	used := map[string]bool{}
	for _, p := range r.conditions {
		c := p.at()
		facts, params, faults := lex(c.Text, names)
		c.Facts, c.Params = facts, params
		for _, f := range faults {
			line, column := Place(*c, f.at+1)
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: line, Column: column, Message: p.part + ": " + f.message, Hint: f.hint})
		}
		for _, u := range params {
			used[u] = true
		}
	}
	for _, n := range names {
		if !used[n] {
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: 0, Column: 0, Message: fmt.Sprintf("parameter %q is read by no condition", n), Hint: ""})
		}
	}
}

// Place finds the line and column in the file of a place in a condition's text,
// counted in characters from 1; 0 stands for its beginning.
func Place(c cell.Condition, at int) (line, column int) {
	line, column = c.Line, c.Column
	for i, ch := range []rune(c.Text) {
		if i+1 >= at {
			break
		}
		column++
		if ch == '\n' {
			line, column = line+1, c.Column
		}
	}
	return line, column
}

func (r *reader) clause(to *Clause, what string) func(ast.Node) {
	return func(n ast.Node) {
		r.Keys(n, what, []string{"words", "condition"}, map[string]func(ast.Node){
			"words":     r.Sentence(&to.Words, "words of "+what),
			"condition": r.condition(what, func() *cell.Condition { return &to.Condition }),
		})
	}
}

func (r *reader) reasons(to *[]Reason, what string) func(ast.Node) {
	return func(n ast.Node) {
		r.Items(n, what+"s", func(v ast.Node) {
			i := len(*to)
			var empty Reason
			*to = append(*to, empty)
			name := fmt.Sprintf("%s %d", what, i+1)
			if i == cell.MaxReasons {
				r.Report(v.GetToken(), "join reasons that are of one kind", "more than %d %ss", cell.MaxReasons, what)
			}
			r.Keys(v, name, []string{"reason", "condition"}, map[string]func(ast.Node){
				"reason":    r.Sentence(&(*to)[i].Reason, "reason"),
				"why":       r.Sentence(&(*to)[i].Why, "why"),
				"condition": r.condition(name, func() *cell.Condition { return &(*to)[i].Condition }),
			})
		})
	}
}

func (r *reader) value(n ast.Node) {
	d := r.d
	d.Ends = map[string]string{}
	r.Keys(n, "value", []string{"words", "low", "high"}, map[string]func(ast.Node){
		"words": r.Sentence(&d.Low.Words, "words of value"),
		"low":   r.condition("low", func() *cell.Condition { return &d.Low.Condition }),
		"high":  r.condition("high", func() *cell.Condition { return &d.High.Condition }),
		"end":   r.condition("end", func() *cell.Condition { return &d.End.Condition }),
		"open":  r.condition("open", func() *cell.Condition { return &d.Open.Condition }),
		"signs": r.Sentences(&d.Signs, "signs"),
		"ends": func(n ast.Node) {
			r.Pairs(n, "ends", func(k *yaml.Token, v ast.Node) {
				var s string
				r.Sentence(&s, "end "+k.Value)(v)
				d.Ends[k.Value] = s
			})
		},
	})
}

func (r *reader) missing(n ast.Node) {
	r.Keys(n, "missing", []string{"rule", "words"}, map[string]func(ast.Node){
		"rule":  yamlfile.OneOf(r.File, &r.d.Missing.Rule, "missing-data rule", Known, CountNotMet),
		"words": r.Sentence(&r.d.Missing.Words, "words of missing"),
	})
}

func (r *reader) coverage(n ast.Node) {
	r.Keys(n, "coverage", []string{"words"}, map[string]func(ast.Node){
		"needs": func(n ast.Node) {
			r.Items(n, "needs", func(v ast.Node) {
				var s string
				yamlfile.OneOf(r.File, &s, "coverage", record.Coverages...)(v)
				r.d.Coverage.Needs = append(r.d.Coverage.Needs, record.Coverage(slices.Index(record.Coverages, s)+1))
			})
		},
		"words": r.Sentence(&r.d.Coverage.Words, "words of coverage"),
	})
}

func (r *reader) strata(n ast.Node) {
	r.Items(n, "strata", func(v ast.Node) {
		s, ok := r.Scalar(v, "stratum")
		switch spec, known := columns[s]; {
		case !ok:
		case !known:
			r.Report(v.GetToken(), yamlfile.DidYouMean(s, columnNames), "%q is no fact", s)
		case codesOf(spec) == nil:
			r.Report(v.GetToken(), "", "%q is a number and makes no table", s)
		default:
			r.d.Strata = append(r.d.Strata, s)
		}
	})
}
