package benchmark

import (
	"fmt"
	"slices"

	"github.com/goccy/go-yaml/ast"
	yaml "github.com/goccy/go-yaml/token"

	"chestrise/etl/record"
	"chestrise/metrics"
	"chestrise/metrics/disclosure"
	"chestrise/metrics/measure"
	"chestrise/metrics/yamlfile"
)

// Settings are what a network, or a hospital on its own, decided about comparisons.
type Settings struct {
	Network    string
	Deployment Deployment
	Agreement  string // under which partners are told; empty: nothing goes to partners
	Units      []Coded
	Measures   []Wish
	Public     PublicRule
	Linked     [][]string // measures whose counts give each other away; added to those of one population
	Sums       []SumWish
	SignOff    []string // roles, two or more, that must agree before figures leave
	PeriodLast int      // months of a period
}

// Deployment says whose records the registry holds.
type Deployment string

// The deployments.
const (
	Centre  Deployment = "coordinating-centre" // every unit's records
	OwnUnit Deployment = "own-unit"            // one hospital's; the others are a returned reference
)

// Coded is a unit with the code under which others see it. The order of codes is the
// order of every table.
type Coded struct{ Unit, Code string }

// Wish is a measure to compare.
type Wish struct {
	Measure string
	Adjust  bool   // observed against expected by gestation band
	Why     string // why adjusted, or why not
}

// PublicRule is the rule for public outputs.
type PublicRule struct {
	Under        int  // counts from 1 to Under-1 are hidden
	Zeros        bool // zeros are hidden too
	ZerosDecided string
}

// Policy is the rule as the disclosure package reads it.
func (r PublicRule) Policy() disclosure.Policy {
	return disclosure.Policy{Threshold: r.Under, Complement: true, Zeros: r.Zeros, Width: r.Under}
}

// SumWish is a measure to be followed as a sum over months.
type SumWish struct {
	Measure  string
	Odds     float64      // odds ratio watched for: 2 more often, 0.5 less often
	From, To record.Month // months from which the others' rates are taken; months after To are followed
	Years    float64      // to a false signal, on average
}

// ReadSettings reads a network file. All problems are reported at once.
func ReadSettings(path string, src []byte) (Settings, error) {
	s := Settings{
		Network: "", Deployment: "", Agreement: "", Units: nil, Measures: nil,
		Public: PublicRule{Under: 0, Zeros: false, ZerosDecided: ""}, Linked: nil, Sums: nil, SignOff: nil, PeriodLast: 6,
	}
	f := &yamlfile.File{Path: path, Lines: nil, Problems: nil}
	root := f.Root(src)
	if root == nil {
		return s, f.Problems.Err()
	}
	f.Keys(root, "the network", []string{"network", "deployment", "units", "measures", "public", "sign_off"}, map[string]func(ast.Node){
		"network":    f.Sentence(&s.Network, "network"),
		"deployment": yamlfile.OneOf(f, &s.Deployment, "deployment", Centre, OwnUnit),
		"agreement":  f.Sentence(&s.Agreement, "agreement"),
		"months":     f.Integer(&s.PeriodLast, "months", 1, 60),
		"units":      func(n ast.Node) { f.Items(n, "units", func(v ast.Node) { s.unit(f, v) }) },
		"measures":   func(n ast.Node) { f.Items(n, "measures", func(v ast.Node) { s.wish(f, v) }) },
		"public":     s.public(f),
		"linked": func(n ast.Node) {
			f.Items(n, "linked", func(v ast.Node) {
				var group []string
				f.Sentences(&group, "linked measures")(v)
				s.Linked = append(s.Linked, group)
			})
		},
		"sums":     func(n ast.Node) { f.Items(n, "sums", func(v ast.Node) { s.sum(f, v) }) },
		"sign_off": f.Sentences(&s.SignOff, "sign_off"),
	})
	slices.SortStableFunc(s.Units, func(a, b Coded) int { return cmpString(a.Code, b.Code) })
	distinct := slices.Clone(s.SignOff)
	slices.Sort(distinct)
	if len(slices.Compact(distinct)) < 2 {
		f.Report(yamlfile.Start(root), "such as [data steward, clinical lead]", "sign_off needs two different roles")
	}
	if s.Deployment == OwnUnit && len(s.Units) > 1 {
		f.Report(yamlfile.Start(root), "", "an own-unit deployment has one unit, not %d", len(s.Units))
	}
	return s, f.Problems.Err()
}

func cmpString(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (s *Settings) unit(f *yamlfile.File, n ast.Node) {
	c := Coded{Unit: "", Code: ""}
	f.Keys(n, "unit", []string{"unit", "code"}, map[string]func(ast.Node){
		"unit": f.Sentence(&c.Unit, "unit"),
		"code": f.Sentence(&c.Code, "code"),
	})
	for _, o := range s.Units {
		if o.Unit == c.Unit || o.Code == c.Code {
			f.Report(yamlfile.Start(n), "", "unit %q or code %q appears twice", c.Unit, c.Code)
		}
	}
	s.Units = append(s.Units, c)
}

func (s *Settings) wish(f *yamlfile.File, n ast.Node) {
	w := Wish{Measure: "", Adjust: false, Why: ""}
	var at *yaml.Token
	f.Keys(n, "measure", []string{"measure", "adjust", "why"}, map[string]func(ast.Node){
		"measure": func(v ast.Node) { at = v.GetToken(); f.Sentence(&w.Measure, "measure")(v) },
		"adjust": func(v ast.Node) {
			var word string
			yamlfile.OneOf(f, &word, "adjust", "gestation", "no")(v)
			w.Adjust = word == "gestation"
		},
		"why": f.Sentence(&w.Why, "why"),
	})
	if slices.ContainsFunc(s.Measures, func(o Wish) bool { return o.Measure == w.Measure }) {
		f.Report(at, "", "measure %q appears twice", w.Measure)
	}
	s.Measures = append(s.Measures, w)
}

func (s *Settings) public(f *yamlfile.File) func(ast.Node) {
	return func(n ast.Node) {
		var zeros string
		f.Keys(n, "public", []string{"hide_under", "zeros", "zeros_decided"}, map[string]func(ast.Node){
			"hide_under":    f.Integer(&s.Public.Under, "hide_under", 2, 1000),
			"zeros":         yamlfile.OneOf(f, &zeros, "zeros", "shown", "hidden"),
			"zeros_decided": f.Sentence(&s.Public.ZerosDecided, "zeros_decided"),
		})
		s.Public.Zeros = zeros == "hidden"
	}
}

func (s *Settings) sum(f *yamlfile.File, n ast.Node) {
	w := SumWish{Measure: "", Odds: 0, From: 0, To: 0, Years: 0}
	month := func(to *record.Month, what string) func(ast.Node) {
		return func(v ast.Node) {
			text, ok := f.Scalar(v, what)
			if !ok {
				return
			}
			m, err := record.ParseMonth(text)
			if err != nil {
				f.Report(v.GetToken(), "write it as 2026-03", "%s is no month: %q", what, text)
				return
			}
			*to = m
		}
	}
	f.Keys(n, "sum", []string{"measure", "odds", "from", "to", "years_to_false_signal"}, map[string]func(ast.Node){
		"measure":               f.Sentence(&w.Measure, "measure"),
		"odds":                  f.Float(&w.Odds, "odds"),
		"from":                  month(&w.From, "from"),
		"to":                    month(&w.To, "to"),
		"years_to_false_signal": f.Float(&w.Years, "years_to_false_signal"),
	})
	switch {
	case !(w.Odds > 0) || w.Odds == 1 || w.Odds > 100:
		f.Report(yamlfile.Start(n), "2 watches for twice the odds, 0.5 for half", "odds %v are no change to watch for", w.Odds)
	case w.From > w.To:
		f.Report(yamlfile.Start(n), "", "the months of the rates end before they begin")
	case !(w.Years > 0) || w.Years > 1000:
		f.Report(yamlfile.Start(n), "", "%v years to a false signal", w.Years)
	}
	s.Sums = append(s.Sums, w)
}

// Check says which settings name a unit or a measure that is not there, or a measure
// that has no share to compare.
func (s Settings) Check(units []string, c measure.Catalogue) []string {
	var out []string
	for _, u := range s.Units {
		if units != nil && !slices.Contains(units, u.Unit) {
			out = append(out, fmt.Sprintf("units: unit %q is not known", u.Unit))
		}
	}
	named := func(where, id string) {
		d, err := c.Named(id)
		switch {
		case err != nil:
			out = append(out, where+": "+err.Error())
		case !metrics.IsShare(d):
			out = append(out, fmt.Sprintf("%s: measure %q is a mean or a median: it has no numerator and denominator to compare", where, id))
		}
	}
	for _, w := range s.Measures {
		named("measures", w.Measure)
	}
	for _, w := range s.Sums {
		named("sums", w.Measure)
	}
	for _, group := range s.Linked {
		for _, id := range group {
			named("linked", id)
		}
	}
	return out
}

// Coded finds a unit's code.
func (s Settings) Coded(unit string) (Coded, bool) {
	i := slices.IndexFunc(s.Units, func(c Coded) bool { return c.Unit == unit })
	if i < 0 {
		return Coded{Unit: "", Code: ""}, false
	}
	return s.Units[i], true
}
