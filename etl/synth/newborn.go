package synth

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"chestrise/etl/record"
)

// Generator draws the newborns of a scenario.
type Generator struct {
	scenario *Scenario
	seed     uint64
	from, to record.Month
	// VentilatedOnly leaves out everybody else: the newborns that remain are the
	// same as without it, and drawing them is several times faster. For tests
	// over many seeds.
	VentilatedOnly bool
}

// NewGenerator returns a generator of the scenario with its own seed or, where
// seed is not 0, with another one.
func NewGenerator(s *Scenario, seed uint64) *Generator {
	if seed == 0 {
		seed = s.Seed
	}
	from, _ := record.ParseMonth(s.From)
	to, _ := record.ParseMonth(s.To)
	return &Generator{scenario: s, seed: seed, from: from, to: to}
}

// Born is one invented newborn: the document as first written down, and what
// becomes of it between deliveries.
type Born struct {
	Document record.Document
	Late     bool // arrives with the delivery after its month's first
	Revised  bool // a value changes in the delivery after
	Recalled bool // withdrawn in the delivery after
	Slow     bool // the true first inflation was later than 60 s
}

// dice is a newborn's own random stream.
type dice struct{ *rand.Rand }

func (g *Generator) dice(unit string, month record.Month, n int) dice {
	h := fnv.New64a()
	var b [24]byte
	binary.LittleEndian.PutUint64(b[0:], g.seed)
	binary.LittleEndian.PutUint64(b[8:], uint64(month))
	binary.LittleEndian.PutUint64(b[16:], uint64(n))
	h.Write([]byte(unit))
	h.Write(b[:])
	return dice{rand.New(rand.NewPCG(h.Sum64(), g.seed))}
}

func (d dice) chance(p float64) bool { return d.Float64() < p }

func (d dice) normal(mean, sd float64) float64 { return mean + sd*d.NormFloat64() }

// around draws a log-normal value with the median and the sigma of its log.
func (d dice) around(median, sigma float64) float64 {
	return median * math.Exp(sigma*d.NormFloat64())
}

func (d dice) pick(shares []float64) int {
	x := d.Float64()
	for i, p := range shares {
		if x < p {
			return i
		}
		x -= p
	}
	return len(shares) - 1
}

// key draws a random UUID of version 4 from the newborn's own stream.
func (d dice) key() (k record.Key) {
	binary.BigEndian.PutUint64(k[0:], d.Uint64())
	binary.BigEndian.PutUint64(k[8:], d.Uint64())
	k[6] = k[6]&0x0f | 0x40
	k[8] = k[8]&0x3f | 0x80
	return k
}

// Month draws the newborns of a unit and month in birth order. Days limits a
// month that is delivered in part (0: the whole month).
func (g *Generator) Month(unit string, m record.Month, days int) []Born {
	u, ok := g.scenario.unit(unit)
	if !ok {
		return nil
	}
	d := g.dice(unit, m, -1)
	mean := u.Births
	if days > 0 {
		mean *= float64(days) / 30
	}
	n := max(int(math.Round(d.normal(mean, math.Sqrt(mean)))), 1)
	var all []Born
	for i, sequence := 0, 0; sequence < n; i++ {
		sequence++
		d := g.dice(u.Code, m, i)
		k := d.pick(mixes[u.Mix])
		twins := d.chance(bands[k].multiple / 2) // one draw makes two newborns
		c := g.happen(u, m, bands[k], d)
		if !g.VentilatedOnly || c.ventilated {
			all = append(all, g.draw(u, m, k, sequence, d, c, twins))
		}
		if twins {
			sequence++
			d := g.dice(u.Code, m, 1_000_000+i)
			c := g.happen(u, m, bands[k], d)
			if !g.VentilatedOnly || c.ventilated {
				all = append(all, g.twin(u, m, i, k, sequence, d, c))
			}
		}
	}
	if g.VentilatedOnly {
		return all
	}
	g.plant(u, m, all)
	if u.Coverage == "newborn-team-attended" {
		return attended(all)
	}
	return all
}

// attended keeps the newborns to whom a newborn team came: this unit sends no
// others.
func attended(all []Born) []Born {
	kept := all[:0]
	for _, b := range all {
		if b.Document.Newborn[record.NewbornTeamAtBirth].Code == record.Yes || len(b.Document.Events) > 3 {
			kept = append(kept, b)
		}
	}
	return kept
}

// draw writes down one newborn whose course is known.
func (g *Generator) draw(u *Unit, m record.Month, k, sequence int, d dice, c course, twins bool) Born {
	n := pregnancy(d, k)
	if twins {
		v := &n[record.BirthSet]
		v.State, v.ID = record.Recorded, d.key()
		number(&n, record.BirthOrder, 1)
		code(&n, record.Placenta, uint8(1+d.pick([]float64{.2, .7, .1})))
	}
	child(&n, d, bands[k])
	code(&n, record.Presentation, uint8(1+d.pick([]float64{.94, .05, .01})))
	return write(u, m, k, sequence, d, n, c)
}

// twin writes down the second of a pair: the same pregnancy, which is drawn
// again from the first one's stream, and a course of its own.
func (g *Generator) twin(u *Unit, m record.Month, i, k, sequence int, d dice, c course) Born {
	first := g.dice(u.Code, m, i)
	first.pick(mixes[u.Mix])
	first.chance(0)
	g.happen(u, m, bands[k], first)
	n := pregnancy(first, k)
	v := &n[record.BirthSet]
	v.State, v.ID = record.Recorded, first.key()
	number(&n, record.BirthOrder, 2)
	code(&n, record.Placenta, uint8(1+first.pick([]float64{.2, .7, .1})))
	child(&n, d, bands[k])
	code(&n, record.Presentation, uint8(1+d.pick([]float64{.7, .27, .03})))
	return write(u, m, k, sequence, d, n, c)
}

// pregnancy draws what twins share.
func pregnancy(d dice, k int) (n record.Newborn) {
	b := bands[k]
	weeks := b.weeks[0] + d.IntN(b.weeks[1]-b.weeks[0]+1)
	if k == 5 {
		weeks = 37 + d.pick([]float64{.10, .20, .30, .27, .13})
	}
	number(&n, record.GestationWk, float64(weeks))
	if !d.chance(.02) {
		number(&n, record.GestationD, float64(d.IntN(7)))
	}
	code(&n, record.GestationBasis, []uint8{1, 1, 1, 2}[d.IntN(4)])
	code(&n, record.ModeOfBirth, []uint8{1, 2, 3}[d.pick([]float64{.9 - b.caesarean, .1, b.caesarean})])
	code(&n, record.Urgency, uint8(1+d.pick([]float64{.45, .40, .15})))
	if weeks < 35 {
		code(&n, record.AntenatalSteroids, uint8(1+d.pick([]float64{1 - b.steroids, b.steroids * .3, b.steroids * .7})))
	}
	return n
}

// child draws what is one newborn's own.
func child(n *record.Newborn, d dice, b band) {
	weight := d.normal(b.weight, b.weightSD)
	number(n, record.BirthWeightG, math.Round(min(max(weight, 320), 5900)/5)*5)
	code(n, record.Sex, uint8(1+d.IntN(2)))
	if d.chance(b.anomaly) {
		set(n, record.MajorAnomaly, uint8(2+d.pick([]float64{.12, .05, .5, .33})))
	} else {
		set(n, record.MajorAnomaly, record.MajorAnomalyNone)
	}
}

func number(n *record.Newborn, f record.Field, x float64) {
	n[f] = record.Value{State: record.Recorded, Number: x}
}

func code(n *record.Newborn, f record.Field, c uint8) {
	n[f] = record.Value{State: record.Recorded, Code: c}
}

func set(n *record.Newborn, f record.Field, c uint8) {
	n[f] = record.Value{State: record.Recorded, Set: 1 << (c - 1)}
}

func yes(n *record.Newborn, f record.Field, is bool) {
	if is {
		code(n, f, record.Yes)
	} else {
		code(n, f, record.No)
	}
}
