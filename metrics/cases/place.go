package cases

import (
	"fmt"
	"slices"
	"strings"

	"chestrise/etl/record"
)

// nowhere stands until a reading has its place.
var nowhere = Time{At: 0, Lo: 0, Hi: 0}

// events puts everything that happens at one time into its lane.
func (p *placer) events() {
	for i := range p.d.Events {
		e := &p.d.Events[i]
		switch e.Kind { //nolint:exhaustive // spans, and what describes them, are placed elsewhere
		case record.HeartRate:
			p.heartRate(e)
		case record.Saturation:
			r := Reading{Time: nowhere, Has: e.Valued, Value: e.Value, Banded: false, Low: 0, High: 0, Way: "", Until: nil}
			words := "saturation: no reading"
			if e.Valued {
				words = "saturation " + number(e.Value) + " %"
			}
			p.read(SaturationLane, e, r, words)
		case record.Oxygen:
			p.oxygen(i)
		case record.MonitorOn:
			lane := SaturationLane
			if e.Code == record.MonitorECG {
				lane = HeartRateLane
			}
			p.mark(lane, e, say(monitorWords[:], e.Code))
		case record.Breathing:
			p.mark(BreathingLane, e, say(breathingWords[:], e.Code))
		case record.Stimulated:
			p.mark(BreathingLane, e, say(stimulateWords[:], e.Code))
		case record.ChestMovement:
			p.mark(ChestLane, e, say(chestWords[:], e.Code))
		case record.ExhaledCO2:
			p.mark(ChestLane, e, say(co2Words[:], e.Code))
		case record.CorrectiveStep:
			words := say(stepWords[:], e.Code)
			if e.Code == record.StepPressure && e.Valued {
				words += " to " + number(e.Value) + " cmH₂O"
			}
			p.mark(StepsLane, e, words)
		case record.Dose:
			p.mark(DrugsLane, e, doseOf(e))
		case record.CordClamped:
			p.mark(CordLane, e, p.cordWords())
		case record.ThermalStep:
			p.mark(WarmthLane, e, say(thermalWords[:], e.Code))
		case record.LaterResuscitation:
			p.mark(SupportLane, e, "later resuscitation begins")
		}
	}
}

func doseOf(e *record.Event) string {
	words := say(doseWords[:], e.Code)
	if !e.Valued {
		return words + ", dose not recorded"
	}
	unit := " mg/kg"
	if e.Code == record.DoseVolume {
		unit = " mL/kg"
	}
	return words + " " + number(e.Value) + unit
}

func (p *placer) cordWords() string {
	switch p.d.Newborn[record.CordMethod].Code {
	case record.CordMethodMilkedIntact:
		return "clamped, milked before"
	case record.CordMethodMilkedCut:
		return "cut, then milked"
	case record.CordMethodBySigns:
		return "clamped by signs"
	}
	return "clamped"
}

// bands of heart rates that are recorded without a number.
var rateBands = map[record.EventCode][2]float64{
	record.HRAbsent: {0, 0}, record.HRBelow60: {1, 59}, record.HR60To99: {60, 99}, record.HR100OrMore: {100, 200},
}

func (p *placer) heartRate(e *record.Event) {
	r := Reading{Time: nowhere, Has: e.Valued, Value: e.Value, Banded: false, Low: 0, High: 0, Way: say(rateWays[:], e.Code), Until: nil}
	words := "heart rate: no reading"
	if b, ok := rateBands[e.Code]; ok && !e.Valued {
		r.Banded, r.Low, r.High = true, b[0], b[1]
		words = map[record.EventCode]string{record.HRAbsent: "heart rate absent", record.HRBelow60: "heart rate below 60", record.HR60To99: "heart rate 60 to 99", record.HR100OrMore: "heart rate 100 or more"}[e.Code]
		if e.Code == record.HRAbsent {
			r.Has, r.Banded = true, false
		}
	}
	if e.Valued {
		words = "heart rate " + number(e.Value)
	}
	p.read(HeartRateLane, e, r, words)
}

// oxygen stands until it is set again or its support episode ends; beyond that
// nothing is known.
func (p *placer) oxygen(i int) {
	e := &p.d.Events[i]
	r := Reading{Time: nowhere, Has: e.Valued, Value: e.Value, Banded: false, Low: 0, High: 0, Way: "", Until: nil}
	for k := range p.d.Events {
		o := &p.d.Events[k]
		if o.Timed && e.Timed && o.Clock == e.Clock && o.At > e.At && (o.Kind == record.Oxygen || o.Kind == record.SupportEnded && o.Grouped && e.Grouped && o.Group == e.Group) {
			at := float64(o.At)
			if r.Until == nil || at < *r.Until {
				r.Until = &at
			}
		}
	}
	p.read(OxygenLane, e, r, fmt.Sprintf("oxygen %s %%", number(e.Value)))
}

// spans puts together what begins and ends.
func (p *placer) spans() {
	p.pair(SupportLane, record.SupportBegun, record.SupportEnded, func(i, _ int) (uint8, string, string) {
		e := &p.d.Events[i]
		return uint8(e.Code), say(supportWords[:], e.Code), p.settings(i)
	})
	attempt := 0
	p.pair(AirwayLane, record.AirwayBegun, record.AirwayEnded, func(i, end int) (uint8, string, string) {
		if p.d.Events[i].Kind == record.AirwayBegun {
			attempt++
		}
		words := say(attemptWords[:], p.d.Events[i].Code)
		if o := p.outcome(i, end); o != "" {
			words += " " + o
		} else {
			words += ", outcome not recorded"
		}
		return 0, words, p.attempt(i, end)
	})
	p.pair(CompressionsLane, record.CompressionsBegun, record.CompressionsEnded, func(int, int) (uint8, string, string) { return 0, "compressions", "" })
	p.dislodged()
}

// pair makes spans of begun and ended rows of one kind. An end belongs to the
// last begun row of its group (or, without a group, of its code) that has none
// yet; a begun row of the same group and code continues the one before with
// another device or interface. What has no partner keeps an open end.
func (p *placer) pair(lane LaneID, begun, ended record.Kind, describe func(i, end int) (uint8, string, string)) {
	type open struct{ begin, end, next int }
	var all []open
	same := func(a, b *record.Event) bool {
		return a.Code == b.Code && a.Grouped == b.Grouped && (!a.Grouped || a.Group == b.Group) && a.Clock == b.Clock
	}
	for i := range p.d.Events {
		e := &p.d.Events[i]
		switch e.Kind { //nolint:exhaustive // only these two kinds are paired
		case begun:
			for k := range all {
				if o := &all[k]; o.end < 0 && o.next < 0 && o.begin >= 0 && e.Grouped && same(&p.d.Events[o.begin], e) {
					o.next = i
				}
			}
			all = append(all, open{begin: i, end: -1, next: -1})
		case ended:
			found := false
			for k := len(all) - 1; k >= 0 && !found; k-- {
				if o := &all[k]; o.begin >= 0 && o.end < 0 && o.next < 0 && same(&p.d.Events[o.begin], e) {
					o.end, found = i, true
				}
			}
			if !found {
				all = append(all, open{begin: -1, end: i, next: -1})
			}
		}
	}
	l := p.t.Lane(lane)
	for _, o := range all {
		row := o.begin
		if row < 0 {
			row = o.end
		}
		kind, words, detail := describe(row, o.end)
		s := Span{From: p.at(o.begin), To: p.at(o.end), Kind: kind, Words: words, Detail: detail, Goes: false}
		if o.next >= 0 {
			s.To, s.Goes = p.at(o.next), true
		}
		if s.From == nil && s.To == nil {
			p.t.Untimed++
			l.Notes = append(l.Notes, p.elsewhere(&p.d.Events[row], joined(words, detail)))
			continue
		}
		l.Spans = append(l.Spans, s)
	}
	slices.SortStableFunc(l.Spans, func(a, b Span) int { return sign(start(a) - start(b)) })
}

func start(s Span) float64 {
	if s.From != nil {
		return s.From.At
	}
	return s.To.At
}

func sign(x float64) int {
	switch {
	case x < 0:
		return -1
	case x > 0:
		return 1
	}
	return 0
}

// at gives the place of row i, nil where there is no such row or place.
func (p *placer) at(i int) *Time {
	if i < 0 {
		return nil
	}
	t, ok := p.time(&p.d.Events[i])
	if !ok {
		return nil
	}
	p.counted(t)
	return &t
}

func joined(words, detail string) string {
	if detail == "" {
		return words
	}
	return words + " (" + detail + ")"
}

// settings are device, interface, mask size and pressures of a support row.
func (p *placer) settings(i int) string {
	var w []string
	add := func(k record.Kind, f func(e *record.Event) string) {
		if e := p.attribute(i, k); e != nil {
			w = append(w, f(e))
		}
	}
	face := p.attribute(i, record.Interface)
	size := p.attribute(i, record.MaskSize)
	switch {
	case face != nil && size != nil && size.Valued:
		w = append(w, say(interfaceWords[:], face.Code)+" "+number(size.Value)+" mm")
	case face != nil:
		w = append(w, say(interfaceWords[:], face.Code))
	case size != nil && size.Valued:
		w = append(w, "mask "+number(size.Value)+" mm")
	}
	add(record.Device, func(e *record.Event) string { return say(deviceWords[:], e.Code) })
	pip, peep := p.attribute(i, record.PIP), p.attribute(i, record.PEEP)
	switch {
	case pip != nil && peep != nil:
		w = append(w, number(pip.Value)+"/"+number(peep.Value)+" cmH₂O")
	case pip != nil:
		w = append(w, "peak "+number(pip.Value)+" cmH₂O")
	case peep != nil:
		w = append(w, "PEEP "+number(peep.Value)+" cmH₂O")
	}
	add(record.Rate, func(e *record.Event) string { return number(e.Value) + "/min" })
	add(record.GasFailure, func(*record.Event) string { return "gas supply failed" })
	return strings.Join(w, ", ")
}

// outcome is what became of an attempt, as first recorded.
func (p *placer) outcome(i, end int) string {
	for _, row := range []int{i, end} {
		if o := p.attribute(row, record.Outcome); o != nil {
			if o.Code == record.OutcomeDislodged {
				return "placed" // dislodged is a later row of what had been placed
			}
			return say(outcomeWords[:], o.Code)
		}
	}
	return ""
}

// attempt is what is recorded of an airway attempt beside its outcome.
func (p *placer) attempt(i, end int) string {
	var w []string
	if e := p.attribute(i, record.Reason); e != nil {
		w = append(w, say(reasonWords[:], e.Code))
	}
	if e := p.attribute(i, record.Scope); e != nil {
		w = append(w, record.Events[record.Scope].Codes[e.Code-1]+" scope")
	}
	if e := p.attribute(i, record.TubeSize); e != nil && e.Valued {
		w = append(w, number(e.Value)+" mm")
	}
	if e := p.attribute(i, record.Depth); e != nil && e.Valued {
		w = append(w, number(e.Value)+" cm at the lip")
	}
	for _, row := range []int{i, end} {
		if e := p.attribute(row, record.Confirmed); e != nil {
			w = append(w, map[record.EventCode]string{record.ConfirmedCO2: "CO₂ seen", record.ConfirmedOther: "confirmed another way"}[e.Code])
			break
		}
	}
	if e := p.attribute(i, record.Operator); e != nil {
		w = append(w, p.s.role(e.Code))
	}
	return strings.Join(w, ", ")
}

// dislodged is a mark of its own where it was recorded later than its attempt.
func (p *placer) dislodged() {
	for i := range p.d.Events {
		if e := &p.d.Events[i]; e.Kind == record.Outcome && e.Code == record.OutcomeDislodged {
			p.mark(AirwayLane, e, "dislodged")
		}
	}
}
