package chart

import (
	"fmt"
	"strconv"
	"strings"
)

// note is a paragraph beneath the chart with what it refers to in front.
type note struct {
	role   string
	shape  shape  // drawn in front where not disc
	letter string // a signal's
	number int    // of an intervention or a phase that is named beneath
	hollow bool   // an open marker in front
	words  string
}

func (n note) key() string {
	switch {
	case n.letter != "":
		return n.letter
	case n.number > 0:
		return strconv.Itoa(n.number)
	}
	return ""
}

func (l *layout) note(n note) {
	if l.m.Terse && n.role == "key" {
		return
	}
	l.notes = append(l.notes, n)
}

// explain puts the notes in their order: signals in words, what shapes and
// open points mean, the aim, numbered interventions, then the model's own.
func (l *layout) explain(drawn bool, marks markSet, rows rowSet) {
	numbered := l.notes
	l.notes = nil
	for _, s := range l.m.Signals {
		words := s.Words
		if words == "" {
			words = strings.TrimSuffix("Signal: "+l.named(s.Points), ": ") + "."
		}
		l.note(note{role: "signal", shape: senseShape[s.Sense], letter: s.Letter, words: words})
	}
	if words := l.shapesInWords(); words != "" {
		l.note(note{role: "key", words: words})
	}
	l.notes = append(l.notes, l.reasons(func(p *Point) bool { return p.Has && p.Hollow }, "Open point", true)...)
	l.notes = append(l.notes, l.reasons(func(p *Point) bool { return !p.Has }, "Gap", false)...)
	for i := range l.m.Points {
		if p := &l.m.Points[i]; drawn && p.Low != nil && p.High != nil && *p.Low < *p.High {
			l.note(note{role: "key", words: "Whiskers reach from the worst to the best that the missing values could make of the point."})
			break
		}
	}
	if t := l.m.Target; drawn && t != nil && t.Text != "" {
		l.note(note{role: "target", words: "Aim " + l.n.Text(l.m.Y.Format, t.Value) + ": " + t.Text})
	}
	l.notes = append(l.notes, numbered...)
	for _, m := range marks.marks {
		if m.text.Words == "" {
			l.note(note{role: "key", words: "Interventions are numbered from left to right; where numbers stand too close some are left out on the axis, none in the list."})
			break
		}
	}
	l.explainRows(rows)
	for _, words := range l.m.Notes {
		l.note(note{role: "note", words: words})
	}
}

// explainRows says which rows of figures were thinned, and to what.
func (l *layout) explainRows(rows rowSet) {
	var order []int
	names := map[int][]string{}
	for k, every := range rows.every {
		if every > 1 {
			if len(names[every]) == 0 {
				order = append(order, every)
			}
			names[every] = append(names[every], "“"+strings.TrimSuffix(l.m.Rows[k].Label, ":")+"”")
		}
	}
	for _, every := range order {
		is := "is"
		if len(names[every]) > 1 {
			is = "are"
		}
		l.note(note{role: "key", words: fmt.Sprintf("Under the axis %s %s printed for every %s period and the last.", strings.Join(names[every], " and "), is, ordinal(every))})
	}
}

func ordinal(n int) string {
	switch {
	case n == 2:
		return "second"
	case n == 3:
		return "third"
	case n%100 >= 11 && n%100 <= 13:
		return strconv.Itoa(n) + "th"
	case n%10 == 1:
		return strconv.Itoa(n) + "st"
	case n%10 == 2:
		return strconv.Itoa(n) + "nd"
	case n%10 == 3:
		return strconv.Itoa(n) + "rd"
	}
	return strconv.Itoa(n) + "th"
}

// shapesInWords says what the forms mean that occur in this chart.
func (l *layout) shapesInWords() string {
	var parts []string
	for _, s := range []struct {
		sense Sense
		words string
	}{{Worse, "diamond: signal against the favourable direction"}, {Better, "square: signal in the favourable direction"}, {Neither, "cross: signal, no direction is favourable"}} {
		for _, sig := range l.m.Signals {
			if sig.Sense == s.sense {
				parts = append(parts, s.words)
				break
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	words := strings.Join(parts, "; ")
	return strings.ToUpper(words[:1]) + words[1:] + "."
}

// reasons groups points by why they are drawn as they are.
func (l *layout) reasons(is func(*Point) bool, what string, hollow bool) []note {
	var order []string
	points := map[string][]int{}
	for i := range l.m.Points {
		if p := &l.m.Points[i]; is(p) && (p.Why != "" || hollow) {
			if len(points[p.Why]) == 0 {
				order = append(order, p.Why)
			}
			points[p.Why] = append(points[p.Why], i)
		}
	}
	var out []note
	for _, why := range order {
		words := what + ", " + l.named(points[why])
		if why == "" {
			words += ": not judged."
		} else {
			words += ": " + strings.TrimSuffix(why, ".") + "."
		}
		out = append(out, note{role: "reason", hollow: hollow, words: words})
	}
	return out
}

// named writes periods by their labels, runs of three or more as from-to.
func (l *layout) named(points []int) string {
	var parts []string
	for i := 0; i < len(points); {
		j := i
		for j+1 < len(points) && points[j+1] == points[j]+1 {
			j++
		}
		from, to := l.m.Points[points[i]].Label, l.m.Points[points[j]].Label
		switch j - i {
		case 0:
			parts = append(parts, from)
		case 1:
			parts = append(parts, from, to)
		default:
			parts = append(parts, from+" to "+to)
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}

// noteRow is one or several notes side by side.
type noteRow struct {
	notes  []note
	lines  [][]string
	cols   int
	height float64
}

const (
	noteGap   = 0.7 // between rows
	notesGap  = 2.6 // above the first
	noteInset = 6.2 // room for a shape and a letter
)

// noteRows arranges the notes: one a row, except numbered ones, which are
// short and stand in columns where all of them fit.
func (l *layout) noteRows() []noteRow {
	cols := 1
	for _, try := range []int{4, 3, 2} {
		width, fits, count := l.size.W/float64(try)-noteInset-3, true, 0
		for _, n := range l.notes {
			if n.role == "mark" && n.number > 0 {
				count++
				fits = fits && l.f.Width(n.words, l.typ.base, false) <= width
			}
		}
		if fits && count > 2 {
			cols = try
			break
		}
	}
	var rows []noteRow
	for _, n := range l.notes {
		c := 1
		if n.role == "mark" && n.number > 0 {
			c = cols
		}
		indent := l.indent()
		lines := l.f.Wrap(n.words, l.typ.base, false, min(l.size.W/float64(c)-indent-1, 150))
		if k := len(rows); k > 0 && rows[k-1].cols == c && c > 1 && len(rows[k-1].notes) < c {
			rows[k-1].notes, rows[k-1].lines = append(rows[k-1].notes, n), append(rows[k-1].lines, lines)
			continue
		}
		rows = append(rows, noteRow{notes: []note{n}, lines: [][]string{lines}, cols: c, height: float64(max(1, len(lines))) * leading(l.typ.base)})
	}
	return rows
}

// indent leaves room in front of all notes where one of them has a key.
func (l *layout) indent() float64 {
	w := 0.0
	for _, n := range l.notes {
		if k := n.key(); k != "" {
			w = max(w, l.f.Width(k, l.typ.base, true)+1.4)
		}
		if n.hollow {
			w = max(w, 3.2)
		}
	}
	for _, n := range l.notes {
		if n.letter != "" {
			return max(w+3, noteInset)
		}
	}
	return w
}

// drawNotes gives the y below the last note and where a page may end.
func (l *layout) drawNotes(y float64) (float64, []float64) {
	var cuts []float64
	y += notesGap
	indent := l.indent()
	for _, row := range l.noteRows() {
		cuts = append(cuts, y-noteGap/2)
		for i, n := range row.notes {
			x := float64(i) * l.size.W / float64(row.cols)
			l.drawKey(n, x, y)
			for k, line := range row.lines[i] {
				c := Soft
				if n.role == "signal" {
					c = Ink
				}
				t := l.f.Text(n.role, line, l.typ.base, false, c)
				l.put(t, x+indent, y+t.Ascent+float64(k)*leading(l.typ.base), Start)
			}
		}
		y += row.height + noteGap
	}
	return y, cuts
}

func (l *layout) drawKey(n note, x, y float64) {
	k := l.f.Text("key", n.key(), l.typ.base, true, Ink)
	mid := y + k.Ascent*0.54
	switch {
	case n.letter != "":
		for _, it := range marker(n.shape, Pos{x + 1.3, mid}, 0.75, false) {
			l.add(it)
		}
		k.Colour = Accent
		l.put(k, x+3.4, y+k.Ascent, Start)
	case n.number > 0:
		l.put(k, x, y+k.Ascent, Start)
	case n.hollow:
		for _, it := range marker(disc, Pos{x + 1.3, mid}, 0.85, true) {
			l.add(it)
		}
	}
}
