package synth

import "chestrise/etl/record"

// plant puts the scenario's single events into a month: they are few, known in
// advance, and tests look for them.
func (g *Generator) plant(u *Unit, m record.Month, all []Born) {
	if e, ok := u.in(cluster, m); ok {
		first := len(all) / 2
		for i := first; i < first+int(e.Value) && i < len(all); i++ {
			g.compressed(u, m, i, &all[i].Document)
		}
	}
	if _, ok := u.in(collapse, m); ok {
		if d := g.healthy(all, len(all)/3); d != nil {
			g.collapsed(u, m, d)
		}
	}
	if _, ok := u.in(transfer, m); ok {
		if d := g.healthy(all, len(all)/4); d != nil {
			n := &d.Newborn
			code(n, record.CareEnded, record.CareEndedMoved)
			number(n, record.CareEndedMin, 95)
			yes(n, record.Admitted, false)
			n[record.AdmittedDirect], n[record.ArrivedMin] = record.Value{}, record.Value{}
			number(n, record.AdmissionTempCel, 34.8)
			number(n, record.TempMin, 150)
		}
	}
	if _, ok := u.in(received, m); ok {
		if d := g.healthy(all, len(all)/5); d != nil {
			n := &d.Newborn
			yes(n, record.BornHere, false)
			code(n, record.Place, record.PlaceOutside)
			n[record.BirthSequence] = record.Value{}
			d.Events = nil
			yes(n, record.Admitted, true)
			yes(n, record.AdmittedDirect, false)
			number(n, record.ArrivedMin, 145)
			number(n, record.AdmissionTempCel, 34.8)
			number(n, record.TempMin, 150)
		}
	}
}

// healthy finds the first newborn from place i on who needed nothing and went
// to the mother.
func (g *Generator) healthy(all []Born, i int) *record.Document {
	for ; i < len(all); i++ {
		n := &all[i].Document.Newborn
		if n[record.ResuscitationBegun].Code == record.No && n[record.Admitted].Code == record.No &&
			n[record.GestationWk].Number >= 37 && n[record.CareEnded].Code == record.CareEndedStayed {
			return &all[i].Document
		}
	}
	return nil
}

// compressed replaces a newborn's course by one with chest compressions.
func (g *Generator) compressed(u *Unit, m record.Month, i int, d *record.Document) {
	s := &scribe{dice: g.dice(u.Code, m, 2_000_000+i), how: record.Live, unit: 1}
	first := 40 + s.Float64()*15
	s.note(record.Breathing, record.BreathingNone, 15)
	ppv := s.open(record.SupportBegun, record.SupportPPV, first)
	s.join(ppv, record.Device, record.DeviceTPiece)
	s.join(ppv, record.Interface, record.InterfaceMask)
	s.value(record.HeartRate, record.HRAuscultation, first+12, 45)
	s.note(record.ChestMovement, record.ChestMoving, first+20)
	s.value(record.HeartRate, record.HRECG, first+40, 50)
	e := s.open(record.CompressionsBegun, 0, first+60)
	s.close(e, record.CompressionsEnded, first+120)
	s.value(record.HeartRate, record.HRECG, first+125, 118)
	s.close(ppv, record.SupportEnded, first+240)
	d.Events = s.rows()
	yes(&d.Newborn, record.ResuscitationBegun, true)
	yes(&d.Newborn, record.BornHere, true)
}

// collapsed adds a resuscitation in the nursery at 34 minutes.
func (g *Generator) collapsed(u *Unit, m record.Month, d *record.Document) {
	s := &scribe{dice: g.dice(u.Code, m, 3_000_000), how: record.Live, unit: 1, events: d.Events, group: 50}
	l := s.open(record.LaterResuscitation, 0, 2040)
	b := s.join(l, record.Breathing, record.BreathingNone)
	b.Grouped, b.Group = false, 0
	ppv := s.open(record.SupportBegun, record.SupportPPV, 2060)
	s.join(ppv, record.Interface, record.InterfaceMask)
	e := s.open(record.CompressionsBegun, 0, 2100)
	s.close(e, record.CompressionsEnded, 2170)
	s.close(ppv, record.SupportEnded, 2400)
	d.Events = s.rows()
}
