package chart

import "strings"

// markSet is the room above the axis in which interventions are named. An
// intervention never touches limits or rules: it is a stem and some words.
type markSet struct {
	marks   []placedMark
	lanes   int
	centred bool // numbers that stand on their stems
}

type placedMark struct {
	at   int
	text Text // no words: a stem only, its number was thinned out
	lane int  // 0 is next to the axis
}

const (
	mostLanes  = 3
	markLane   = 3.5
	markIndent = 0.7 // between a stem and its words
)

func (s markSet) height() float64 {
	if len(s.marks) == 0 {
		return 0
	}
	return float64(s.lanes)*markLane + 1.2
}

// markLanes names the interventions in lanes above the axis: each label
// begins at its stem, and a label always lies above the stems that stand
// under it, so that no stem runs through words. A text too long for that
// becomes a number with a note beneath the chart; where even these do not fit
// all become numbers, thinned like ticks.
func (l *layout) markLanes() markSet {
	texts := map[int][]string{}
	var at []int
	for _, m := range l.m.Marks {
		if m.At < 0 || m.At >= len(l.m.Points) {
			l.note(note{role: "mark", words: "Outside the periods shown: " + m.Text})
			continue
		}
		if len(texts[m.At]) == 0 {
			at = append(at, m.At)
		}
		texts[m.At] = append(texts[m.At], m.Text)
	}
	if len(at) == 0 {
		return markSet{}
	}
	before := l.numbered
	set, notes := l.wordMarks(at, texts)
	if set.lanes > mostLanes {
		l.numbered = before
		set, notes = l.numberMarks(at, texts)
	}
	for _, n := range notes {
		l.note(n)
	}
	return set
}

// numbered makes the note that a number on the axis stands for.
func (l *layout) numberNote(at int, words string) note {
	l.numbered++
	return note{role: "mark", number: l.numbered, words: l.m.Points[at].Label + ": " + words}
}

func (l *layout) markText(words string) Text {
	return l.f.Text("mark", words, l.typ.small, false, Ink)
}

func (l *layout) wordMarks(at []int, texts map[int][]string) (markSet, []note) {
	set := markSet{marks: make([]placedMark, len(at))}
	var notes []note
	for i, p := range at {
		words := strings.Join(texts[p], "; ")
		t := l.markText(words)
		room := l.size.W - l.x(p) - markIndent
		if t.Width > 0.36*(l.right-l.left) || t.Width > room {
			n := l.numberNote(p, words)
			notes = append(notes, n)
			t = l.f.Text("mark", n.key(), l.typ.small, true, Ink)
		}
		set.marks[i] = placedMark{at: p, text: t}
	}
	for i := len(at) - 1; i >= 0; i-- {
		end := l.x(at[i]) + markIndent + set.marks[i].text.Width + 1
		lane := 0
		for k := i + 1; k < len(at) && l.x(at[k]) < end; k++ {
			lane = max(lane, set.marks[k].lane+1)
		}
		set.marks[i].lane = lane
		set.lanes = max(set.lanes, lane+1)
	}
	return set, notes
}

func (l *layout) numberMarks(at []int, texts map[int][]string) (markSet, []note) {
	set := markSet{lanes: 1, centred: true}
	var notes []note
	free := 0.0
	for _, p := range at {
		n := l.numberNote(p, strings.Join(texts[p], "; "))
		notes = append(notes, n)
		m := placedMark{at: p}
		t := l.f.Text("mark", n.key(), l.typ.small, true, Ink)
		if from := l.x(p) - t.Width/2; from >= free && from >= 0 && from+t.Width <= l.size.W {
			m.text, free = t, from+t.Width+0.8
		}
		set.marks = append(set.marks, m)
	}
	return set, notes
}

func (l *layout) drawMarks(set markSet, base float64) {
	for _, m := range set.marks {
		x := l.x(m.at)
		y := base - 0.9 - float64(m.lane)*markLane
		high := y - 2.2
		if set.centred {
			high = base - 1.2
		}
		l.line(x, l.sc.top, x, l.sc.bottom, Stroke{Colour: Hair, Width: 0.2, Dash: []float64{0.3, 0.9}})
		l.line(x, base+0.9, x, high, Stroke{Colour: Soft, Width: 0.25})
		switch {
		case m.text.Words == "":
		case set.centred:
			l.put(m.text, x, base-1.6, Middle)
		default:
			l.put(m.text, x+markIndent, y, Start)
		}
	}
}
