// Package cases turns documents into what a case conference may see. Privacy
// sits here, before any report: a Case holds no key, no month, no date and no
// time of day; where few newborns of the period share what is said of the birth,
// it says less and why; roles are named only where enough people hold one.
//
//  1. the documents of a unit and period are read once (Source);
//  2. each is asked every trigger of the settings (a fact, an interval of
//     seconds, or an event on record), limits agreed before birth respected;
//  3. triggered newborns are ranked by how little their gestation band leads to
//     expect the trigger, then by how many triggers hold;
//  4. hand-picked newborns come first, a random sample without a trigger last;
//  5. each chosen newborn becomes a Timeline, and lists of what differed from
//     plan, what is not on record, equipment, published ranges.
//
// Words are neutral: what is not on record was not recorded, which is not to say
// that it was not done.
package cases

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// Source hands over documents.
type Source interface {
	// Documents hands over the documents in scope, withdrawn ones left out, in a
	// fixed order; only those of keys where keys is not nil. The document is valid
	// during the call only.
	Documents(ctx context.Context, s cell.Scope, keys []record.Key, f func(*record.Document) error) error
}

// Query says which packet is wanted.
type Query struct {
	Unit     string
	From, To record.Month
	AsOf     record.Generation // 0: now
	Settings *Settings
	Keys     []record.Key // hand-picked newborns of the period; they come first
	Seed     uint64       // of the random sample and of ties
	// Facts derives the facts of a document, as the registry does.
	Facts func(*record.Document) record.Facts
	// Training is the month of the last training, 0: none. The pathway is counted
	// before it and from it on; its own month belongs to neither side.
	Training record.Month
}

// Why says how a case came into the packet.
type Why uint8

// The ways into a packet.
const (
	Picked    Why = iota + 1 // named by hand
	Triggered                // at least one trigger holds
	Sampled                  // drawn at random among those without a trigger
)

// Case is one newborn as the conference sees it.
type Case struct {
	Number     int // in this packet, from 1
	Why        Why
	Hits       []Hit
	Switched   []string // triggers that hold but are switched off by a limit agreed before birth
	Unexpected string   // how rare the least expected trigger is in this gestation band; empty: not said

	Context   [][2]string // what is known of birth and plan: name, words
	Coarsened []string    // what is not shown, and why
	Siblings  []int       // numbers of other cases of the same birth in this packet
	Limits    []string    // agreed before birth, in words

	Timeline    Timeline
	Outcome     [][2]string
	Differed    []string // from plan
	Gaps        []string // what is not on record
	Equipment   []string
	Published   []Published
	Expectation []string // empty unless the hospital switched the lines on
	Measures    []string // ids of the unit's charts that belong to the triggers
}

// Hit is a trigger that holds.
type Hit struct {
	ID    string
	Title string
}

// Published is a recorded value beside a published range. It says nothing about
// whether the value was right.
type Published struct {
	Recorded string
	Text     string
	Source   string // "common practice, no source" where there is none
}

// Tally counts one trigger over the period.
type Tally struct {
	ID, Title string
	Holds     int
	Unknown   int // cannot be told from the record, or undecided
	Off       int // holds, switched off by a limit agreed before birth
	Shown     int // among the cases of this packet
}

// Selection is a packet's content.
type Selection struct {
	Unit      string
	From, To  record.Month
	Newborns  int // of the period, in the population of births here
	Helped    int // of them, with any support
	Triggered int // with at least one trigger
	Quiet     int // helped, without a trigger: the sample is drawn from these
	Tallies   []Tally
	Cases     []Case
	Pathway   Pathway
	// Keys are the keys of Cases, in order. They are for the person who must find
	// the record, and never enter a report.
	Keys []record.Key
}

// candidate is a newborn that may become a case.
type candidate struct {
	doc      record.Document
	facts    record.Facts
	hits     []hit
	switched []string
	share    float64 // smallest expected share among the hits; 1: none given
	draw     uint64  // decides ties and the sample
	birth    birth
}

// hit is a trigger that holds, with the place in the settings.
type hit struct {
	trigger *Trigger
	share   float64
	known   bool // the settings give an expected share for the band
}

// ErrNoSuchNewborn is returned where a hand-picked key is not among the unit's
// newborns of the period.
var ErrNoSuchNewborn = errors.New("no such newborn in the unit's records of the period")

// Select reads the period's documents and chooses, orders and coarsens the cases.
// The same arguments and documents give the same selection, in whatever order the
// documents come. An empty period gives a selection without cases.
func Select(ctx context.Context, src Source, q Query) (*Selection, error) {
	if q.Settings == nil || q.Facts == nil {
		return nil, errors.New("cases: settings and a derivation of facts are needed")
	}
	if q.To < q.From {
		return nil, fmt.Errorf("cases: the period ends (%s) before it begins (%s)", q.To, q.From)
	}
	s := selector{q: q, tallies: nil, births: nil, picked: nil, triggered: nil, quiet: nil, newborns: 0, helped: 0, pathway: newPathway(q.Training)}
	for i := range q.Settings.Triggers {
		t := &q.Settings.Triggers[i]
		s.tallies = append(s.tallies, Tally{ID: t.ID, Title: t.Title, Holds: 0, Unknown: 0, Off: 0, Shown: 0})
	}
	scope := cell.Scope{AsOf: q.AsOf, Units: []string{q.Unit}, From: q.From, To: q.To, UnitMonths: nil}
	if err := src.Documents(ctx, scope, nil, s.take); err != nil {
		return nil, err
	}
	return s.finish()
}

type selector struct {
	q                        Query
	tallies                  []Tally
	births                   []birth
	picked, triggered, quiet []candidate
	newborns, helped         int
	pathway                  *Pathway
}

// take looks at one document of the period.
func (s *selector) take(d *record.Document) error {
	if d.Withdrawn {
		return nil
	}
	f := s.q.Facts(d)
	c := candidate{facts: f, birth: birthOf(d, f), share: 1, draw: s.ticket(d.Key), doc: record.Document{}, hits: nil, switched: nil}
	in := yes(f, record.FactInPopulation)
	picked := slices.Contains(s.q.Keys, d.Key)
	later := yes(f, record.FactLaterResuscitation)
	if in {
		s.newborns++
		s.births = append(s.births, c.birth)
		s.pathway.count(d, f)
	}
	if !in && !picked && !later {
		return nil
	}
	s.judge(&c, d)
	helped := code(f, record.FactSupported) == record.SupportedYes || code(f, record.FactTube) == record.TubeYes
	if in && helped {
		s.helped++
	}
	switch {
	case picked:
		s.picked = append(s.picked, c.keep(d))
	case len(c.hits) > 0:
		s.triggered = append(s.triggered, c.keep(d))
	case in && helped && len(c.switched) == 0:
		s.quiet = append(s.quiet, c.keep(d))
	}
	return nil
}

// keep copies the document, which is valid during the call only.
func (c candidate) keep(d *record.Document) candidate {
	c.doc = *d
	c.doc.Events = slices.Clone(d.Events)
	return c
}

// judge asks every trigger.
func (s *selector) judge(c *candidate, d *record.Document) {
	for i := range s.q.Settings.Triggers {
		t := &s.q.Settings.Triggers[i]
		switch answer := t.holds(d, c.facts); {
		case answer == maybe:
			s.tallies[i].Unknown++
		case answer == no:
		case t.switchedOff(d, c.facts):
			s.tallies[i].Off++
			c.switched = append(c.switched, t.Title)
		default:
			s.tallies[i].Holds++
			share, known := t.Expected.in(c.facts)
			c.hits = append(c.hits, hit{trigger: t, share: share, known: known})
			c.share = min(c.share, share)
		}
	}
}

func (s *selector) finish() (*Selection, error) {
	if missing := len(s.q.Keys) - len(s.picked); missing > 0 {
		return nil, s.missing()
	}
	out := &Selection{
		Unit: s.q.Unit, From: s.q.From, To: s.q.To, Newborns: s.newborns, Helped: s.helped,
		Triggered: len(s.triggered), Quiet: len(s.quiet), Tallies: s.tallies, Cases: nil, Pathway: s.pathway.sorted(), Keys: nil,
	}
	for i := range s.picked {
		if len(s.picked[i].hits) > 0 {
			out.Triggered++
		}
	}
	var chosen []candidate
	var why []Why
	add := func(w Why, from []candidate, most int) {
		for i := range min(most, len(from)) {
			chosen, why = append(chosen, from[i]), append(why, w)
		}
	}
	slices.SortStableFunc(s.picked, func(a, b candidate) int {
		return slices.Index(s.q.Keys, a.doc.Key) - slices.Index(s.q.Keys, b.doc.Key)
	})
	rank(s.triggered)
	slices.SortStableFunc(s.quiet, byDraw)
	add(Picked, s.picked, len(s.picked))
	add(Triggered, varied(s.triggered, s.q.Settings.Cases, s.q.Settings.Alike), s.q.Settings.Cases)
	add(Sampled, s.quiet, s.q.Settings.Sample)
	for i := range chosen {
		c := &chosen[i]
		out.Cases = append(out.Cases, s.build(c, why[i], i+1, siblings(chosen, i)))
		out.Keys = append(out.Keys, c.doc.Key)
		for _, h := range c.hits {
			k := slices.IndexFunc(out.Tallies, func(t Tally) bool { return t.ID == h.trigger.ID })
			out.Tallies[k].Shown++
		}
	}
	return out, nil
}

func (s *selector) missing() error {
	var keys []string
	for _, k := range s.q.Keys {
		if !slices.ContainsFunc(s.picked, func(c candidate) bool { return c.doc.Key == k }) {
			keys = append(keys, k.String())
		}
	}
	return fmt.Errorf("%s, unit %s, %s to %s: %w\nhint: name the unit that sent the record and a period that holds its month", strings.Join(keys, ", "), s.q.Unit, s.q.From, s.q.To, ErrNoSuchNewborn)
}

// siblings are the numbers of the other chosen newborns of the same birth.
func siblings(chosen []candidate, i int) []int {
	set := chosen[i].doc.Newborn[record.BirthSet]
	var out []int
	for k := range chosen {
		if o := chosen[k].doc.Newborn[record.BirthSet]; k != i && set.State == record.Recorded && o.State == record.Recorded && o.ID == set.ID {
			out = append(out, k+1)
		}
	}
	return out
}
