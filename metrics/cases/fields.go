package cases

import (
	"fmt"
	"math"

	"chestrise/etl/record"
)

// has returns a recorded value of the newborn.
func (p *placer) has(f record.Field) (record.Value, bool) {
	v := p.d.Newborn[f]
	return v, v.State == record.Recorded
}

// fields puts what is recorded on the newborn itself into the lanes.
func (p *placer) fields() {
	p.team()
	p.cord()
	p.warmth()
	for _, o := range outcome(p.d) {
		p.t.Lane(OutcomeLane).Notes = append(p.t.Lane(OutcomeLane).Notes, lower(o[0])+": "+o[1])
	}
}

func (p *placer) team() {
	l := p.t.Lane(TeamLane)
	for _, c := range []struct {
		field record.Field
		words string
	}{{record.TeamCalledS, "called"}, {record.TeamArrivedS, "arrived"}} {
		v, ok := p.has(c.field)
		switch {
		case !ok:
		case v.Number < 0:
			l.Notes = append(l.Notes, c.words+" "+before(-v.Number)+" before birth")
		case p.t.Zero == FromBirth:
			l.Marks = append(l.Marks, Mark{Time: Time{At: v.Number, Lo: v.Number, Hi: v.Number}, Words: c.words})
			p.t.Records++
		default:
			l.Notes = append(l.Notes, c.words+" "+seconds(v.Number)+" from birth")
		}
	}
	if v, ok := p.has(record.NewbornTeamAtBirth); ok {
		if v.Code == record.Yes {
			l.Notes = append(l.Notes, "somebody whose only task was the newborn was there at birth")
		} else {
			l.Notes = append(l.Notes, "nobody whose only task was the newborn was there at birth")
		}
	}
	if v, ok := p.has(record.PeoplePresent); ok {
		l.Notes = append(l.Notes, plural(int(v.Number), "person", "people")+" present for the newborn")
	}
}

// before writes a length of time ahead of birth.
func before(s float64) string {
	if s < 120 {
		return number(s) + " s"
	}
	return number(math.Round(s/60)) + " min"
}

func (p *placer) cord() {
	l := p.t.Lane(CordLane)
	if v, ok := p.has(record.CordIntactSetup); ok {
		l.Notes = append(l.Notes, map[uint8]string{
			record.CordIntactSetupAvailable: "set-up for help with the cord intact available",
			record.CordIntactSetupUsed:      "set-up for help with the cord intact used",
			record.CordIntactSetupNone:      "no set-up for help with the cord intact",
		}[v.Code])
	}
	if v, ok := p.has(record.CordException); ok {
		l.Notes = append(l.Notes, "documented: "+map[uint8]string{
			record.CordExceptionHelpNeededNoSetup: "help needed at once and no set-up for it",
			record.CordExceptionAbruptionOrPrevia: "abruption or bleeding praevia",
			record.CordExceptionCordAccident:      "cord accident",
			record.CordExceptionOnePlacenta:       "one placenta",
			record.CordExceptionOther:             "another reason for early clamping",
		}[v.Code])
	}
}

func (p *placer) warmth() {
	l := p.t.Lane(WarmthLane)
	temp, ok := p.has(record.AdmissionTempCel)
	if !ok {
		return
	}
	words := fmt.Sprintf("first temperature on the unit %.1f °C", temp.Number)
	if v, ok := p.has(record.TempMin); ok {
		words += " at " + minutes(v.Number)
		if a, ok := p.has(record.ArrivedMin); ok && v.Number >= a.Number {
			words += ", " + minutes(v.Number-a.Number) + " after arrival"
		}
	}
	if v, ok := p.has(record.TempSite); ok {
		words += " (" + say(siteWords[:], v.Code) + ")"
	}
	l.Notes = append(l.Notes, words)
}

// absent says of every empty lane why it is empty. In a section that the source
// marked as filled in, and that lost no record, a blank means not done; for
// support, airway, compressions and drugs it always does. Anything else is not
// known.
func (p *placer) absent() {
	for i := range p.t.Lanes {
		l := &p.t.Lanes[i]
		if !l.Empty() {
			continue
		}
		section := laneSections[i]
		given := section == record.Airway || section == record.CompressionsDrugs || l.ID == SupportLane
		switch {
		case p.d.Damaged.Has(section):
			l.Absent = "no usable record; some was set aside"
		case given:
			l.Absent = "none on record"
		case charted(p.d, section):
			l.Absent = "none; the section is marked as filled in"
		default:
			l.Absent = "no record"
		}
	}
}

// marks are the fields that say that a section was filled in.
var sectionMarks = map[record.Section]record.Field{
	record.Assessments: record.ChartedAssessments, record.Support: record.ChartedSupport, record.Steps: record.ChartedSteps,
	record.Airway: record.ChartedAirway, record.CompressionsDrugs: record.ChartedCompressionsDrugs, record.Cord: record.ChartedCord,
	record.Temperature: record.ChartedTemperature, record.Team: record.ChartedTeam,
}

// charted says whether the source marked a section as filled in and nothing of
// it was lost.
func charted(d *record.Document, s record.Section) bool {
	f, ok := sectionMarks[s]
	return ok && d.Newborn[f].State == record.Recorded && d.Newborn[f].Code == record.Yes && !d.Damaged.Has(s)
}

// caption says what a reader must know of the times.
func (p *placer) caption() {
	t := p.t
	died, place := p.has(record.DiedMin)
	if place {
		t.Ended = "Died " + minutes(died.Number) + " after birth."
	} else if v, ok := p.has(record.CareEnded); ok && v.Code == record.CareEndedDied {
		t.Ended = "Died; when is not recorded."
	}
	if t.Records == 0 {
		switch {
		case t.Untimed > 0:
			t.Nothing = fmt.Sprintf("No time is on record: %s without one, in words below.", plural(t.Untimed, "event", "events"))
		default:
			t.Nothing = "No event is on record for this newborn."
		}
		if t.Ended != "" {
			t.Nothing += " " + t.Ended
		}
		t.Caption = ""
		return
	}
	if t.Zero == FromBirth {
		t.Band, t.BandIs = p.s.Band.Points, p.s.Band.Name
		if p.s.Band.Source != "" {
			t.BandIs += " (" + p.s.Band.Source + ")"
		}
		if t.Vague > 0 {
			t.Caption = fmt.Sprintf("%d of %s are intervals: each happened at some moment of the stretch drawn.", t.Vague, plural(t.Records, "time", "times"))
		}
	}
}
