package spc

import "encoding/json"

// Document is the chart as JSON: every number in full precision, null where there
// is none (no value, no limit).
type Document struct {
	Chart     string          `json:"chart"`
	Centre    *float64        `json:"centre"` // drawn line of the last phase
	Sigma     *float64        `json:"sigma"`  // of a single value, or of the last point where it varies
	Points    []PointDoc      `json:"points"`
	Phases    []PhaseDoc      `json:"phases"`
	Signals   []SignalDoc     `json:"signals"`
	Summary   Summary         `json:"summary"`
	Rules     []RuleDoc       `json:"rules"`
	Warnings  []WarningDoc    `json:"warnings"`
	Reason    string          `json:"reason,omitempty"`
	Companion json.RawMessage `json:"companion,omitempty"`
}

// PointDoc is one point of a Document.
type PointDoc struct {
	Label    string   `json:"label"`
	Value    *float64 `json:"value"`
	N        *float64 `json:"n"`
	Centre   *float64 `json:"centre"`
	Lower    *float64 `json:"lower"`
	Upper    *float64 `json:"upper"`
	LowerRaw *float64 `json:"lower_raw"`
	UpperRaw *float64 `json:"upper_raw"`
	Sigma    *float64 `json:"sigma"`
	Z        *float64 `json:"z"`
	Phase    int      `json:"phase"` // from 1
	Signals  []RuleID `json:"signals"`
	Baseline bool     `json:"baseline"`
	Exact    bool     `json:"exact,omitempty"`
	SetAside bool     `json:"set_aside,omitempty"`
	Hollow   bool     `json:"hollow,omitempty"`
	AtLeast  bool     `json:"at_least,omitempty"`
	Observed *float64 `json:"observed,omitempty"`
	Steps    int      `json:"steps,omitempty"`
}

// PhaseDoc is one phase of a Document; From and To are labels.
type PhaseDoc struct {
	From           string   `json:"from"`
	To             string   `json:"to"`
	Reason         string   `json:"reason,omitempty"`
	Centre         *float64 `json:"centre"` // the parameter, see Baseline
	Sigma          *float64 `json:"sigma"`
	BaselinePoints int      `json:"baseline_points"`
	Stored         bool     `json:"stored"`
	Provisional    bool     `json:"provisional"`
	Summary        Summary  `json:"summary"`
}

// SignalDoc is one signal of a Document; rows count from 1.
type SignalDoc struct {
	Rule      RuleID `json:"rule"`
	Words     string `json:"words"`
	At        []int  `json:"at"`
	Rows      []int  `json:"rows"`
	Direction string `json:"direction"`
	Verdict   string `json:"verdict"`
}

// RuleDoc is one rule of a Document.
type RuleDoc struct {
	ID    RuleID `json:"id"`
	Words string `json:"words"`
}

// WarningDoc is one warning of a Document; rows count from 1.
type WarningDoc struct {
	Code Code   `json:"code"`
	Text string `json:"text"`
	Rows []int  `json:"rows,omitempty"`
}

// Document turns the chart into its JSON form.
func (c Chart) Document() (Document, error) {
	d := Document{
		Chart: c.Kind.String(), Centre: nil, Sigma: nil, Points: make([]PointDoc, len(c.Points)),
		Phases: []PhaseDoc{}, Signals: []SignalDoc{}, Summary: c.Summary, Rules: []RuleDoc{}, Warnings: []WarningDoc{},
		Reason: c.Reason, Companion: nil,
	}
	for i := range c.Points {
		p := &c.Points[i]
		q := PointDoc{
			Label: p.Label, Value: nil, N: nil, Centre: p.Centre, Lower: p.Lower, Upper: p.Upper,
			LowerRaw: p.LowerRaw, UpperRaw: p.UpperRaw, Sigma: p.Sigma, Z: p.Z, Phase: p.Phase + 1,
			Signals: p.Signals, Baseline: p.Baseline, Exact: p.Exact, SetAside: p.SetAside, Hollow: p.Hollow,
			AtLeast: p.AtLeast, Observed: p.Observed, Steps: p.Steps,
		}
		if p.Has {
			q.Value = &p.Value
		}
		if p.N > 0 {
			q.N = &p.N
		}
		if q.Signals == nil {
			q.Signals = []RuleID{}
		}
		if p.Centre != nil {
			d.Centre = p.Centre
		}
		if p.Sigma != nil {
			d.Sigma = p.Sigma
		}
		d.Points[i] = q
	}
	for _, ph := range c.Phases {
		q := PhaseDoc{
			From: "", To: "", Reason: ph.Reason, Centre: nil, Sigma: nil, BaselinePoints: ph.Baseline.Points,
			Stored: ph.Stored, Provisional: ph.Provisional, Summary: ph.Summary,
		}
		if ph.To >= ph.From {
			q.From, q.To = c.Points[ph.From].Label, c.Points[ph.To].Label
		}
		if ph.Stored || ph.Baseline.Points > 0 {
			q.Centre = new(ph.Baseline.Centre)
			if ph.Baseline.Sigma > 0 {
				q.Sigma = new(ph.Baseline.Sigma)
			}
		}
		d.Phases = append(d.Phases, q)
	}
	for _, s := range c.Signals {
		d.Signals = append(d.Signals, SignalDoc{
			Rule: s.Rule, Words: s.Words, At: fromOne(s.At), Rows: fromOne(s.Members),
			Direction: s.Direction.String(), Verdict: s.Verdict.String(),
		})
	}
	for _, r := range c.Rules {
		d.Rules = append(d.Rules, RuleDoc{ID: r.ID, Words: r.Words})
	}
	for _, w := range c.Warnings {
		d.Warnings = append(d.Warnings, WarningDoc{Code: w.Code, Text: w.Text, Rows: fromOne(w.Points)})
	}
	if c.Companion != nil {
		raw, err := json.Marshal(c.Companion)
		if err != nil {
			return Document{}, err
		}
		d.Companion = raw
	}
	return d, nil
}

// MarshalJSON writes the chart as its Document.
func (c Chart) MarshalJSON() ([]byte, error) {
	d, err := c.Document()
	if err != nil {
		return nil, err
	}
	return json.Marshal(d)
}

// MarshalJSON writes a summary as one object, names in order.
func (s Summary) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, e := range s {
		if i > 0 {
			out = append(out, ',')
		}
		k, err := json.Marshal(e.Name)
		if err != nil {
			return nil, err
		}
		v, err := json.Marshal(e.Value)
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, k...), ':'), v...)
	}
	return append(out, '}'), nil
}

func fromOne(idx []int) []int {
	out := make([]int, len(idx))
	for i, v := range idx {
		out[i] = v + 1
	}
	return out
}
