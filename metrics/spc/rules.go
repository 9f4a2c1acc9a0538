package spc

import (
	"fmt"
	"slices"
	"strings"
)

// RuleID names a rule.
type RuleID string

// The rules.
const (
	BeyondLimits  RuleID = "beyond-limits"
	EightOneSide  RuleID = "eight-one-side"
	NineOneSide   RuleID = "nine-one-side"
	SevenOneSide  RuleID = "seven-one-side" // in no published set here; some health-care texts use it
	SixTrend      RuleID = "six-trend"
	Alternating   RuleID = "fourteen-alternating"
	TwoOfThree    RuleID = "two-of-three"
	FourOfFive    RuleID = "four-of-five"
	FifteenInner  RuleID = "fifteen-inner"
	EightOuter    RuleID = "eight-outer"
	LongestRun    RuleID = "longest-run"
	FewCrossings  RuleID = "few-crossings"
	ShiftSix      RuleID = "shift-six"
	TrendFive     RuleID = "trend-five"
	MovingCentred RuleID = "beyond-decision-limit" // EWMA and Cusum
)

// class says what a rule needs of a chart.
type class uint8

const (
	beyond    class = iota + 1 // limits
	sideRun                    // a centre that half the points lie above
	trend                      // an order
	zigzag                     // an order
	zone                       // near-normal, symmetric points: sigma zones
	inner                      // zones, no direction
	outer                      // zones, no direction
	medianRun                  // the median of the same points
	decision                   // a sum or average that remembers
)

// Rule is one test for special causes.
type Rule struct {
	ID    RuleID
	Words string // the rule in words
	class class
	k, m  int     // k points of m
	zone  float64 // in sigmas
	ties  bool    // trend: equal neighbours are passed over instead of breaking it
}

var allRules = []Rule{
	{ID: BeyondLimits, Words: "one point beyond a limit", class: beyond, k: 1, m: 1},
	{ID: EightOneSide, Words: "eight points in a row on one side of the centre", class: sideRun, k: 8, m: 8},
	{ID: NineOneSide, Words: "nine points in a row on one side of the centre", class: sideRun, k: 9, m: 9},
	{ID: SevenOneSide, Words: "seven points in a row on one side of the centre", class: sideRun, k: 7, m: 7},
	{ID: SixTrend, Words: "six points in a row rising or falling", class: trend, k: 6, m: 6},
	{ID: Alternating, Words: "fourteen points in a row going up and down in turn", class: zigzag, k: 14, m: 14},
	{ID: TwoOfThree, Words: "two of three points in a row more than two sigma from the centre, on one side", class: zone, k: 2, m: 3, zone: 2},
	{ID: FourOfFive, Words: "four of five points in a row more than one sigma from the centre, on one side", class: zone, k: 4, m: 5, zone: 1},
	{ID: FifteenInner, Words: "fifteen points in a row within one sigma of the centre", class: inner, k: 15, m: 15, zone: 1},
	{ID: EightOuter, Words: "eight points in a row more than one sigma from the centre, on either side", class: outer, k: 8, m: 8, zone: 1},
	{ID: LongestRun, Words: "a run on one side of the median longer than chance allows for this number of points", class: medianRun},
	{ID: FewCrossings, Words: "fewer crossings of the median than chance allows for this number of points", class: medianRun},
	{ID: ShiftSix, Words: "six points in a row on one side of the median", class: sideRun, k: 6, m: 6},
	{ID: TrendFive, Words: "five points in a row rising or falling", class: trend, k: 5, m: 5, ties: true},
	{ID: MovingCentred, Words: "one point beyond the decision limit", class: decision, k: 1, m: 1},
}

// RuleByID finds a rule.
func RuleByID(id RuleID) (Rule, bool) {
	i := slices.IndexFunc(allRules, func(r Rule) bool { return r.ID == id })
	if i < 0 {
		return Rule{}, false
	}
	return allRules[i], true
}

// RuleSet is a choice of rules. The zero value stands for the default of the kind
// of chart: the run-chart set for Run, beyond the decision limit for EWMA and
// Cusum, otherwise one point beyond a limit and eight in a row on one side.
type RuleSet struct {
	Name  string
	Rules []RuleID
}

// The published sets, by name. Definitions are paraphrased.
//
//   - western-electric: Western Electric, Statistical Quality Control Handbook (1956).
//   - nelson: L. S. Nelson, J. Quality Technology 16 (1984) 237-239.
//   - health-care: Provost & Murray, The Health Care Data Guide (2011).
//   - run-chart: Anhoej & Olesen, PLoS ONE 9 (2014) e113825 (crossings and longest run).
//   - run-chart-fixed: Perla, Provost & Murray, BMJ Qual Saf 20 (2011) 46-51.
var ruleSets = map[string][]RuleID{
	"default":          {BeyondLimits, EightOneSide},
	"western-electric": {BeyondLimits, TwoOfThree, FourOfFive, EightOneSide},
	"nelson":           {BeyondLimits, NineOneSide, SixTrend, Alternating, TwoOfThree, FourOfFive, FifteenInner, EightOuter},
	"health-care":      {BeyondLimits, EightOneSide, SixTrend, TwoOfThree, FifteenInner},
	"run-chart":        {LongestRun, FewCrossings},
	"run-chart-fixed":  {ShiftSix, TrendFive},
	"none":             {},
}

// RulesNamed gives a published set by name, without the rules listed: each rule
// can be switched off. An unknown name or rule is an error that lists the choices.
func RulesNamed(name string, without ...RuleID) (RuleSet, error) {
	ids, ok := ruleSets[name]
	if !ok {
		return RuleSet{}, fmt.Errorf("rule set %q is not known\nhint: one of %s", name, strings.Join(RuleSetNames(), ", "))
	}
	if name == "default" && len(without) == 0 {
		return RuleSet{}, nil
	}
	for _, w := range without {
		if _, ok := RuleByID(w); !ok {
			return RuleSet{}, fmt.Errorf("rule %q is not known", w)
		}
	}
	set := RuleSet{Name: name, Rules: []RuleID{}}
	for _, id := range ids {
		if !slices.Contains(without, id) {
			set.Rules = append(set.Rules, id)
		}
	}
	return set, nil
}

// RuleSetNames lists the sets that RulesNamed knows.
func RuleSetNames() []string {
	return []string{"default", "western-electric", "nelson", "health-care", "run-chart", "run-chart-fixed", "none"}
}

// defaultRules is the set of a kind when the caller chose none.
func defaultRules(k Kind) []RuleID {
	switch k {
	case Run:
		return ruleSets["run-chart"]
	case EWMA, Cusum, CusumLower:
		return []RuleID{MovingCentred}
	case MovingRange, Range, Deviation:
		return []RuleID{BeyondLimits}
	default:
		return ruleSets["default"]
	}
}

// barred says why a rule may not be used on a kind of chart, or "".
func (r Rule) barred(k Kind, smallCounts bool) string {
	switch {
	case k == EWMA || k == Cusum || k == CusumLower:
		if r.class != decision {
			return "its points remember the ones before them, so only the decision limit applies"
		}
	case r.class == decision:
		return "it belongs to charts that remember"
	case k == Run:
		if r.class == beyond || r.class == zone || r.class == inner || r.class == outer {
			return "a run chart has no limits and no sigma zones"
		}
	case r.class == medianRun:
		return "it is defined about the median of a run chart"
	case k == MovingRange || k == Range || k == Deviation:
		if r.class != beyond {
			return "successive spreads are skewed or correlated"
		}
	case r.class == zone || r.class == inner || r.class == outer:
		if k == G || k == T {
			return "sigma zones need symmetric points and gaps between events are skewed"
		}
		if smallCounts {
			return "sigma zones need near-normal points and the expected counts are below 5"
		}
	}
	return ""
}

// choose resolves the rules for a chart and says which were dropped and why.
func choose(set RuleSet, k Kind, smallCounts bool) ([]Rule, []Warning, error) {
	ids := set.Rules
	if ids == nil {
		ids = defaultRules(k)
	}
	var rules []Rule
	var warnings []Warning
	for _, id := range ids {
		r, ok := RuleByID(id)
		if !ok {
			return nil, nil, fmt.Errorf("rule %q is not known", id)
		}
		if slices.ContainsFunc(rules, func(x Rule) bool { return x.ID == id }) {
			continue
		}
		if why := r.barred(k, smallCounts); why != "" {
			warnings = append(warnings, Warning{Code: RuleDropped, Text: fmt.Sprintf("The rule %q is not used on this %s chart: %s.", r.Words, k, why)})
			continue
		}
		rules = append(rules, r)
	}
	if len(rules) == 0 && len(ids) > 0 {
		warnings = append(warnings, Warning{Code: NoRules, Text: "No rule of the chosen set applies to this kind of chart, so nothing is judged."})
	}
	return rules, warnings, nil
}
