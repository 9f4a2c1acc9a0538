package cases

import (
	"fmt"

	"chestrise/etl/record"
)

// noSource stands where a published range has no source.
const noSource = "common practice, no source"

// published puts recorded devices and doses beside published ranges. What the
// record holds and what is published stand side by side; nothing is concluded.
func published(d *record.Document, f record.Facts, s *Settings) []Published {
	recorded := map[string][]string{}
	add := func(about, words string) { recorded[about] = append(recorded[about], words) }
	for i := range d.Events {
		e := &d.Events[i]
		switch e.Kind { //nolint:exhaustive // nothing is published here on the other kinds
		case record.TubeSize:
			add("tube-size", number(e.Value)+" mm tube")
		case record.Depth:
			add("tube-depth", number(e.Value)+" cm at the lip")
		case record.MaskSize:
			add("mask-size", number(e.Value)+" mm mask")
		case record.CompressionsBegun:
			add("compressions", "compressions")
		case record.Dose:
			about := map[record.EventCode]string{record.DoseEpinephrineIV: "epinephrine-iv", record.DoseEpinephrineTracheal: "epinephrine-tracheal", record.DoseVolume: "volume"}[e.Code]
			if about != "" {
				add(about, doseOf(e))
			}
		case record.Device:
			if e.Code == record.DeviceSelfInflating {
				add("self-inflating", "self-inflating bag")
			}
		}
	}
	if lo, hi := f[record.FactLongestAttemptLo], f[record.FactLongestAttemptHi]; lo.State == record.Recorded {
		w := number(lo.Number) + " s"
		if hi.State == record.Recorded && hi.Number != lo.Number {
			w = number(lo.Number) + " to " + number(hi.Number) + " s"
		}
		add("attempt-length", "longest tube attempt "+w)
	}
	if v := f[record.FactSaturationFall]; v.State == record.Recorded && v.Number > 0 {
		add("saturation-fall", fmt.Sprintf("saturation fell by %s points at a tube attempt", number(v.Number)))
	}
	if v := f[record.FactStartingOxygenPct]; v.State == record.Recorded {
		add("starting-oxygen", number(v.Number)+" % oxygen at the start")
	}
	var out []Published
	for _, p := range s.Published {
		w := distinct(recorded[p.About])
		if len(w) == 0 {
			continue
		}
		source := p.Source
		if source == "" {
			source = noSource
		}
		out = append(out, Published{Recorded: upper(list(w)), Text: p.Text, Source: source})
	}
	return out
}

func distinct(words []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, w := range words {
		if !seen[w] {
			seen[w] = true
			out = append(out, w)
		}
	}
	return out
}
