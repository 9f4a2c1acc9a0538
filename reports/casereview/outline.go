package casereview

import (
	"fmt"
	"strings"

	"chestrise/metrics/cases"
)

// outline is the packet in plain words, for reading aloud, for a slide's notes,
// and for readers who cannot see the figures.
func (b *builder) outline() string {
	var w strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&w, format+"\n", args...) }
	d := b.p.Document
	line("%s\n%s, %s\n", strings.ToUpper(d.Title), d.Unit, d.Period)
	for _, n := range d.Notices {
		line("%s", n)
	}
	line("%s\n%s\n%s\n", purpose, conduct, b.headline())
	for i := range b.sel.Cases {
		c := &b.sel.Cases[i]
		line("CASE %d", c.Number)
		items(line, "Why it is here", b.whyLines(c))
		items(line, "Known at birth", pairs(c.Context))
		items(line, "Agreed, and not shown", append(append([]string{}, c.Limits...), c.Coarsened...))
		b.told(line, &c.Timeline)
		items(line, "What differed from plan", orNone(c.Differed, "Nothing on record."))
		items(line, "What the record cannot tell", orNone(c.Gaps, "Nothing that was looked for is missing."))
		items(line, "Equipment", orNone(c.Equipment, "Nothing on record."))
		items(line, "Recorded, and the local aim", c.Expectation)
		items(line, "To ask", prompts)
		items(line, "One night or the system", b.linked(c))
		items(line, "Actions: what, owner (role), until, measure to watch", []string{"....", "...."})
		line("")
	}
	line("CORRECTIVE STEPS AND WHAT FOLLOWED")
	for i := range b.sel.Pathway.Parts {
		part := &b.sel.Pathway.Parts[i]
		var steps []string
		for _, s := range part.Steps {
			steps = append(steps, fmt.Sprintf("%s: %s, %d of %d followed", s.Name, plural(s.Newborns, "newborn", "newborns"), s.Followed, s.Timed))
		}
		items(line, fmt.Sprintf("%s (%s ventilated by mask)", part.Name, plural(part.Ventilated, "newborn", "newborns")), steps)
	}
	line("%s\n\n%s\n%s", cases.PathwayCaption, chosen, screened)
	return w.String()
}

func (b *builder) told(line func(string, ...any), t *cases.Timeline) {
	line("  What is on record (%s)", t.Axis)
	if t.Nothing != "" {
		line("    - %s", t.Nothing)
	}
	if t.Caption != "" {
		line("    - %s", t.Caption)
	}
	for _, e := range entries(t) {
		when := e.when
		if when == "" {
			when = e.lane
		}
		line("    - %s: %s", when, e.what)
	}
}

func items(line func(string, ...any), title string, all []string) {
	if len(all) == 0 {
		return
	}
	line("  %s", title)
	for _, x := range all {
		line("    - %s", x)
	}
}
