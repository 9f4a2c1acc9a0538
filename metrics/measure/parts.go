package measure

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	yaml "github.com/goccy/go-yaml/token"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/yamlfile"
)

func (r *reader) chart(n ast.Node) {
	c := &r.d.Chart
	r.Keys(n, "chart", []string{"kind", "words"}, map[string]func(ast.Node){
		"kind":     yamlfile.OneOf(r.File, &c.Kind, "chart kind", "p", "run", "xmr", "g"),
		"within":   r.Float(&c.Within, "within"),
		"rolling":  r.Integer(&c.Rolling, "rolling", 2, 60),
		"newborns": r.Boolean(&c.Newborns, "newborns"),
		"newborns_of": func(n ast.Node) {
			c.Newborns = true
			r.Sentence(&c.Of, "newborns_of")(n)
		},
		"line":  r.Float(&c.Line, "line"),
		"words": r.Sentence(&c.Words, "words of chart"),
		"shares": func(n ast.Node) {
			r.Items(n, "shares", func(v ast.Node) {
				var x float64
				r.Float(&x, "share limit")(v)
				c.Shares = append(c.Shares, x)
			})
		},
	})
	if !slices.IsSorted(c.Shares) {
		r.Report(n.GetToken(), "", "limits of the shares must rise")
	}
}

func (r *reader) aim(n ast.Node) {
	a := &r.d.Aim
	r.Keys(n, "aim", []string{"text"}, map[string]func(ast.Node){
		"text":   r.Sentence(&a.Text, "text of aim"),
		"source": r.Sentence(&a.Source, "source of aim"),
		"value": func(n ast.Node) {
			a.Drawn = true
			r.Float(&a.Value, "value of aim")(n)
		},
	})
}

func (r *reader) parameters(n ast.Node) {
	r.Pairs(n, "parameters", func(k *yaml.Token, v ast.Node) {
		p := Parameter{Name: k.Value, Value: 0, Unit: "", Words: "", Edition: false}
		for i, c := range []byte(p.Name) {
			if !letter(c) && (i == 0 || !digit(c)) {
				r.Report(k, "", "parameter %q is not of lower-case letters, digits and _", p.Name)
				break
			}
		}
		r.Keys(v, "parameter "+p.Name, []string{"value", "words"}, map[string]func(ast.Node){
			"value":   r.Float(&p.Value, "value of "+p.Name),
			"unit":    r.Sentence(&p.Unit, "unit of "+p.Name),
			"words":   r.Sentence(&p.Words, "words of "+p.Name),
			"edition": r.Boolean(&p.Edition, "edition of "+p.Name),
		})
		r.d.Parameters = append(r.d.Parameters, p)
	})
}

func (r *reader) limits(n ast.Node) {
	r.Keys(n, "limits", []string{"words"}, map[string]func(ast.Node){
		"title": r.Sentence(&r.d.Limits.Title, "title of limits"),
		"words": r.Sentence(&r.d.Limits.Words, "words of limits"),
		"section": func(n ast.Node) {
			var s string
			yamlfile.OneOf(r.File, &s, "section", record.SectionNames[1:]...)(n)
			r.d.Limits.Section = record.Section(max(0, slices.Index(record.SectionNames[:], s)))
		},
	})
}

func (r *reader) citations(n ast.Node) {
	r.Items(n, "citations", func(v ast.Node) {
		var c Citation
		r.Keys(v, "citation", []string{"text"}, map[string]func(ast.Node){
			"text": r.Sentence(&c.Text, "text of citation"),
			"url":  r.Sentence(&c.URL, "url of citation"),
		})
		r.d.Citations = append(r.d.Citations, c)
	})
}

func (r *reader) beside(n ast.Node) {
	r.Items(n, "beside", func(v ast.Node) {
		var b Beside
		r.Keys(v, "beside", []string{"measure", "why"}, map[string]func(ast.Node){
			"measure": r.Sentence(&b.Measure, "measure"),
			"why":     r.Sentence(&b.Why, "why"),
		})
		r.d.Beside = append(r.d.Beside, b)
	})
}

func (r *reader) examples(n ast.Node) {
	r.Items(n, "examples", func(v ast.Node) {
		var e Example
		e.Facts = map[string]string{}
		if p := yamlfile.Start(v).Position; p != nil {
			e.Line, e.Column = p.Line, p.Column
		}
		answer, value := "", false
		at := v.GetToken()
		number := func(to ...*float64) func(ast.Node) {
			return func(n ast.Node) {
				value = true
				var x float64
				r.Float(&x, "value")(n)
				for _, t := range to {
					*t = x
				}
			}
		}
		r.Keys(v, "example", []string{"name", "facts", "expect", "why"}, map[string]func(ast.Node){
			"name":  r.Sentence(&e.Name, "name of example"),
			"facts": r.facts(e.Facts),
			"expect": func(n ast.Node) {
				at = n.GetToken()
				r.Sentence(&answer, "expect")(n)
				e.Line, e.Column = at.Position.Line, at.Position.Column
			},
			"presumed": r.Boolean(&e.Expect.Presumed, "presumed"),
			"value":    number(&e.Expect.Low, &e.Expect.High),
			"low":      number(&e.Expect.Low),
			"high":     number(&e.Expect.High),
			"end":      r.Sentence(&e.Expect.End, "end"),
			"why":      r.Sentence(&e.Why, "why of example"),
		})
		r.expect(&e, answer, value, at)
		r.d.Examples = append(r.d.Examples, e)
	})
}

// expect turns the answer in words into a code. Reasons are named by their
// number or their words; they may stand below the examples in the file, so they
// are resolved by consistent.
func (r *reader) expect(e *Example, answer string, value bool, at *yaml.Token) {
	plain := map[string]cell.Code{
		"outside": cell.Outside, "eligibility unknown": cell.EligibilityUnknown, "unknown": cell.Unknown,
		"undecided": cell.Undecided, "not met": cell.NotMet, "met": cell.Met, "event": cell.Met, "no event": cell.NotMet, "valued": cell.Valued,
	}
	number := func(first cell.Code, s string) bool {
		i, err := strconv.Atoi(s)
		if err != nil || i < 1 || i > cell.MaxReasons {
			return false
		}
		e.Expect.Code = first + cell.Code(i-1)
		return true
	}
	code, ok := plain[answer]
	ex, excluded := strings.CutPrefix(answer, "excluded ")
	ep, excepted := strings.CutPrefix(answer, "exception ")
	switch {
	case answer == "":
		return
	case ok:
		e.Expect.Code = code
	case excluded && number(cell.FirstExclusion, ex), excepted && number(cell.FirstException, ep):
	default:
		r.Report(at, "one of outside, eligibility unknown, excluded N, exception N, unknown, undecided, not met, met, valued, event, no event", "answer %q is not known", answer)
		return
	}
	if value != (e.Expect.Code == cell.Valued) && e.Expect.Code != cell.Undecided {
		r.Report(at, "", "an example is valued where it gives a value, and only there")
	}
}

// facts reads the facts of an example, each checked against the dictionary.
func (r *reader) facts(to map[string]string) func(ast.Node) {
	return func(n ast.Node) {
		r.Pairs(n, "facts", func(k *yaml.Token, v ast.Node) {
			spec, ok := columns[k.Value]
			if !ok {
				r.Report(k, yamlfile.DidYouMean(k.Value, columnNames), "%q is no fact", k.Value)
				return
			}
			s, ok := r.Scalar(v, k.Value)
			if !ok {
				return
			}
			codes := codesOf(spec)
			x, err := strconv.ParseFloat(s, 64)
			switch {
			case codes != nil && !slices.Contains(codes, s):
				hint := yamlfile.DidYouMean(s, codes)
				if hint == "" {
					hint = "its codes are " + strings.Join(codes, ", ")
				}
				r.Report(v.GetToken(), hint, "%q is no code of %s", s, k.Value)
			case codes == nil && (err != nil || !(x >= spec.Min && x <= spec.Max)):
				r.Report(v.GetToken(), "", "%s must be a number from %v to %v, not %q", k.Value, spec.Min, spec.Max, s)
			default:
				to[k.Value] = s
			}
		})
	}
}

// consistent checks what no single key can tell.
func (r *reader) consistent(root ast.Node) {
	d := r.d
	at := yamlfile.Start(root)
	value := d.Low.Present()
	switch {
	case d.Data == Value && !value:
		r.Report(at, "", "a value measure needs the key %q", "value")
	case d.Data == Value && (d.Met.Present() || d.Missed.Present()):
		r.Report(at, "", "a value measure has no %q", "met")
	case d.Data != Value && d.Data != "" && value:
		r.Report(at, "", "a %s measure has no %q", d.Data, "value")
	case d.Data != Value && d.Data != "" && !d.Met.Present():
		r.Report(at, "", "a %s measure needs the key %q", d.Data, "met")
	}
	switch {
	case d.Data == Value && d.Unit == "":
		r.Report(at, "", "a value measure needs the key %q", "unit")
	case d.Data == Value && d.Chart.Kind == "p" && d.Chart.Within == 0:
		r.Report(at, `say which share: "within: 60"`, "a p chart of a value needs the key %q", "within")
	case d.Data == Value && d.Chart.Kind == "g", d.Data == RareEvent && d.Chart.Kind != "g" && d.Chart.Kind != "", d.Data == Proportion && d.Chart.Kind == "g":
		r.Report(at, "", "chart %q does not suit a %s measure", d.Chart.Kind, d.Data)
	}
	if spec, ok := columns[strings.TrimSpace(d.End.Condition.Text)]; d.End.Present() && ok {
		for _, s := range d.Signs {
			if !slices.Contains(codesOf(spec), s) {
				r.Report(at, yamlfile.DidYouMean(s, codesOf(spec)), "sign %q is no code of %s", s, spec.Name)
			}
		}
		for s := range d.Ends {
			if !slices.Contains(codesOf(spec), s) {
				r.Report(at, yamlfile.DidYouMean(s, codesOf(spec)), "end %q is no code of %s", s, spec.Name)
			}
		}
	}
	if len(d.Examples) < 4 {
		r.Report(at, "give each exclusion and exception, an unknown, an undecided, and both sides of a boundary", "%d worked examples, at least 4 are needed", len(d.Examples))
	}
	seen := map[cell.Code]bool{}
	names := map[string]bool{}
	for _, e := range d.Examples {
		seen[e.Expect.Code] = true
		c := e.Expect.Code
		last := func(first cell.Code, n int) bool {
			return c >= first && c < first+cell.MaxReasons && int(c-first) >= n
		}
		if last(cell.FirstExclusion, len(d.Exclusions)) || last(cell.FirstException, len(d.Exceptions)) {
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: e.Line, Column: e.Column, Message: fmt.Sprintf("example %q names a reason that the measure does not have", e.Name), Hint: ""})
		}
		if names[e.Name] {
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: e.Line, Column: e.Column, Message: fmt.Sprintf("two examples are named %q", e.Name), Hint: ""})
		}
		names[e.Name] = true
	}
	for i, x := range d.Exclusions {
		if !seen[cell.FirstExclusion+cell.Code(i)] {
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: x.Condition.Line, Column: x.Condition.Column, Message: fmt.Sprintf("exclusion %d has no worked example", i+1), Hint: ""})
		}
	}
	for i, x := range d.Exceptions {
		if !seen[cell.FirstException+cell.Code(i)] {
			r.Problems = append(r.Problems, Problem{File: r.Path, Line: x.Condition.Line, Column: x.Condition.Column, Message: fmt.Sprintf("exception %d has no worked example", i+1), Hint: ""})
		}
	}
	if len(d.Examples) > 0 && !seen[cell.Unknown] && !seen[cell.EligibilityUnknown] {
		r.Report(at, "", "no worked example has an unknown answer")
	}
}
