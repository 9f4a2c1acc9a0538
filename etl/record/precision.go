package record

// Precision says how far the event's time may lie from what was typed: so many
// half seconds either way, both ends possible; or, for a reading of whole clock
// minutes, less than a minute either way.
//
// A unit of 60 s always means the difference of two whole-minute clock readings.
// A time is exact if its unit is 1 s, however taken, or up to 10 s if taken by
// device, from video or live; zero is exact. Any other time stands for the typed
// value +/- half its unit. A unit that is not stated is 1 s for device, video and
// live; for the rest it is 30 s where the typed number is divisible by 30, else
// 5 s where divisible by 5, else 1 s. Cord clamping is a called action and counts
// as typed unless a coarse unit marks it as estimated.
func (e *Event) Precision() (halves int32, minute bool) {
	taken := e.How == ByDevice || e.How == ByVideo || e.How == Live
	unit := e.Unit
	if unit == 0 {
		switch {
		case taken || e.Kind == CordClamped:
			unit = 1
		case e.At%30 == 0:
			unit = 30
		case e.At%5 == 0:
			unit = 5
		default:
			unit = 1
		}
	}
	switch {
	case unit == 60:
		return 0, true
	case e.At == 0, unit == 1, unit <= 10 && (taken || e.Kind == CordClamped):
		return 0, false
	}
	return int32(unit), false
}

// FromBirth says whether the clock's zero is complete birth.
func (c Clock) FromBirth() bool { return c == ClockBirth || c == ClockSheet }

// Contradictory finds clocks that cannot have started at birth: the cord was
// clamped 10 s or more after the first inflation, no cord-intact set-up was used
// and ventilation was not begun before birth. A timer started at the warmer reads
// like that. Times are compared as typed.
func (d *Document) Contradictory() (unread [len(Clocks)]bool) {
	if d.Newborn[CordIntactSetup].Code == CordIntactSetupUsed || d.Newborn[BegunBeforeBirth].Code == Yes {
		return unread
	}
	var clamp, inflation [len(Clocks)]*Event
	for i := range d.Events {
		e := &d.Events[i]
		to := &clamp[e.Clock]
		switch {
		case !e.Timed:
			continue
		case e.Kind == SupportBegun && e.Code == SupportPPV:
			to = &inflation[e.Clock]
		case e.Kind != CordClamped:
			continue
		}
		if *to == nil || e.At < (*to).At {
			*to = e
		}
	}
	for c := range unread {
		unread[c] = clamp[c] != nil && inflation[c] != nil && clamp[c].At-10 >= inflation[c].At
	}
	return unread
}
