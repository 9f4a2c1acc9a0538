// Package synth invents newborns: a seeded generator of the demo's scenario.
// It feeds cmd/synthesize and tests; nothing in production imports it.
//
//  1. a Scenario (YAML) says which units there are, how big, how they write
//     things down, and what is planted in them and when;
//  2. a Generator draws each newborn's true course and then what somebody
//     would have written down of it;
//  3. Write puts the records into deliveries, late and revised ones among them.
//
// Every newborn has a random stream of its own, seeded by scenario seed, unit,
// month and place in the month: adding a unit or a month changes no other.
package synth

import (
	"errors"
	"fmt"
	"os"

	"github.com/goccy/go-yaml"

	"chestrise/etl/record"
)

// Scenario is an invented network and what is planted in it.
type Scenario struct {
	Name    string  `yaml:"name"`
	Seed    uint64  `yaml:"seed"`
	From    string  `yaml:"from"`
	To      string  `yaml:"to"`      // last whole month
	Partial int     `yaml:"partial"` // days delivered of the month after it
	Units   []Unit  `yaml:"units"`
	Drops   []Drop  `yaml:"drops"`
	Power   []Power `yaml:"power"`
}

// Unit is an invented unit.
type Unit struct {
	Code     string   `yaml:"code"`
	Name     string   `yaml:"name"`
	Source   string   `yaml:"source"`
	Births   float64  `yaml:"births_a_month"`
	Mix      string   `yaml:"mix"`      // centre or general
	Coverage string   `yaml:"coverage"` // as in a manifest
	Marks    float64  `yaml:"marks"`    // share of records whose sections are marked as charted
	After    float64  `yaml:"after"`    // share of records typed afterwards
	Effects  []Effect `yaml:"effects"`
}

// Effect is something planted in a unit from a month on.
type Effect struct {
	Kind  string  `yaml:"kind"`
	From  string  `yaml:"from"`
	To    string  `yaml:"to"` // last month; empty: for good
	Value float64 `yaml:"value"`
	Sigma float64 `yaml:"sigma"`
	Why   string  `yaml:"why"` // what a reader of the scenario should know

	from, to record.Month // read by check
}

// Drop is one night's deliveries.
type Drop struct {
	Folder    string `yaml:"folder"`
	Through   string `yaml:"through"` // last month with records
	Extracted string `yaml:"extracted"`
}

// Power is what a planted shift must show, worked out before it was looked for.
type Power struct {
	Unit       string  `yaml:"unit"`
	Measure    string  `yaml:"measure"`
	Change     string  `yaml:"change"`           // first month of the shift
	Months     int     `yaml:"period_months"`    // months in a plotted period: 1 or 3
	Known      float64 `yaml:"known_a_period"`   // newborns with a usable answer, mean
	Baseline   int     `yaml:"baseline_periods"` // from the first month on
	Before     float64 `yaml:"before"`
	Later      float64 `yaml:"later"`
	Window     int     `yaml:"window_periods"`
	MustSignal float64 `yaml:"share_that_must_signal"` // of seeds, within the window
	Sum        string  `yaml:"calculation"`
}

// The kinds of Effect.
const (
	firstVentilation = "first-ventilation-median-s" // value: median, sigma: of the log
	training         = "training-without-effect"    // a label only
	timer            = "timer"                      // times by device instead of by hand; care unchanged
	form             = "form"                       // sections are marked from now on, share in value
	warming          = "warming"                    // admission temperature mean, SD in sigma
	later            = "cord-deferred-share"        // share of cords clamped late
	rushed           = "unrecorded-month"           // share of records without times
	outlier          = "outlier-month"              // share of slow starts in one month
	empty            = "no-newborn-helped"          // a month without a ventilated newborn
	cluster          = "compressions-cluster"       // this many newborns in a row with compressions
	slowLate         = "slow-records-late"          // share of slow starts that arrive a delivery late
	collapse         = "collapse-in-nursery"        // one newborn found not breathing later
	transfer         = "transferred"                // one newborn born here is moved elsewhere
	received         = "received"                   // one newborn born elsewhere is received here
)

var effectKinds = map[string]bool{
	firstVentilation: true, training: true, timer: true, form: true, warming: true, later: true, rushed: true,
	outlier: true, empty: true, cluster: true, slowLate: true, collapse: true, transfer: true, received: true,
}

// Load reads a scenario file; unknown keys are errors.
func Load(path string) (*Scenario, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var s Scenario
	if err := yaml.UnmarshalWithOptions(text, &s, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return &s, nil
}

func (s *Scenario) check() error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	from, errFrom := record.ParseMonth(s.From)
	to, errTo := record.ParseMonth(s.To)
	if errFrom != nil || errTo != nil || to < from {
		bad("from, to: want two months, the first not later than the second")
	}
	seen := map[string]bool{}
	for _, u := range s.Units {
		if seen[u.Code] {
			bad("units: %s appears twice", u.Code)
		}
		seen[u.Code] = true
		if u.Births <= 0 {
			bad("units: %s: births_a_month must be positive", u.Code)
		}
		if mixes[u.Mix] == nil {
			bad("units: %s: mix is centre or general", u.Code)
		}
		if record.CodeOf(record.Coverages, u.Coverage) == 0 {
			bad("units: %s: coverage %q is not in the contract", u.Code, u.Coverage)
		}
		for i := range u.Effects {
			e := &u.Effects[i]
			if !effectKinds[e.Kind] {
				bad("units: %s: effect %q does not exist", u.Code, e.Kind)
			}
			var err error
			if e.from, err = record.ParseMonth(e.From); err != nil {
				bad("units: %s: effect %s: from: %v", u.Code, e.Kind, err)
			}
			e.to = forGood
			if e.To != "" {
				if e.to, err = record.ParseMonth(e.To); err != nil {
					bad("units: %s: effect %s: to: %v", u.Code, e.Kind, err)
				}
			}
		}
	}
	for _, p := range s.Power {
		if !seen[p.Unit] {
			bad("power: unit %q does not exist", p.Unit)
		}
	}
	return errors.Join(errs...)
}

// unit returns the unit with a code.
func (s *Scenario) unit(code string) (*Unit, bool) {
	for i := range s.Units {
		if s.Units[i].Code == code {
			return &s.Units[i], true
		}
	}
	return nil, false
}

// forGood ends an effect that does not end.
const forGood = record.Month(1 << 30)

// in returns the effect of a kind that is in force in a month: the latest one.
func (u *Unit) in(kind string, m record.Month) (Effect, bool) {
	for i := len(u.Effects) - 1; i >= 0; i-- {
		if e := &u.Effects[i]; e.Kind == kind && e.from <= m && m <= e.to {
			return *e, true
		}
	}
	return Effect{}, false
}
