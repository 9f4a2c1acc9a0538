package chart

// axisSet is what stands under the axis: names of periods, then years.
type axisSet struct {
	labels, years map[int]Text
	every         int // each so many periods have a name
	offset        int // of the first one
	height        float64
}

// rowSet is the rows of figures under the axis.
type rowSet struct {
	labels [][]Text // of each row, its name in lines
	texts  []map[int]Text
	every  []int // each so many figures of a row are printed
	height float64
}

// calendar reports whether the periods come with years, and where they change.
func (l *layout) calendar() (changes []int) {
	last := ""
	for i := range l.m.Points {
		if y := l.m.Points[i].Year; y != "" && y != last {
			changes = append(changes, i)
			last = y
		}
	}
	return changes
}

// rhythm gives the smallest step at which texts so wide do not touch.
func rhythm(widest, dx float64, months bool) int {
	steps := []int{1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000}
	if months {
		steps = []int{1, 2, 3, 6, 12, 24, 36, 60, 120, 240, 600, 1200}
	}
	for _, s := range steps {
		if widest+0.9 <= float64(s)*dx {
			return s
		}
	}
	return steps[len(steps)-1]
}

func (l *layout) axisLabels() axisSet {
	set := axisSet{labels: map[int]Text{}, years: map[int]Text{}, height: tickLength + 0.8}
	changes := l.calendar()
	widest, same := 0.0, true
	short := make([]Text, len(l.m.Points))
	for i := range l.m.Points {
		p := &l.m.Points[i]
		words := p.Short
		if words == "" {
			words = p.Label
		}
		words = l.f.Elide(words, l.typ.base, false, 0.3*l.size.W)
		short[i] = l.f.Text("period", words, l.typ.base, false, Soft)
		widest = max(widest, short[i].Width)
	}
	set.every = rhythm(widest, l.dx, len(changes) > 0)
	if len(changes) > 0 {
		// the first period of a year has a name, so that the year stands under one
		set.offset = changes[min(1, len(changes)-1)] % set.every
	}
	first := ""
	for _, i := range l.chosen(len(short), set.offset, set.every, func(i int) float64 { return short[i].Width }, 0.9, 0) {
		t := short[i]
		t.At.X = l.within(l.x(i), t.Width)
		if first == "" {
			first = t.Words
		}
		same = same && (t.Words == first || i == len(short)-1)
		set.labels[i] = t
	}
	if len(changes) > 1 && set.every%12 == 0 && same {
		set.labels = map[int]Text{} // "Jan" under every year says nothing
	} else {
		set.height += leading(l.typ.base)
	}
	free := 0.0
	for _, i := range changes {
		t := l.f.Text("year", l.m.Points[i].Year, l.typ.base, true, Soft)
		at := l.within(l.x(i), t.Width)
		if at-t.Width/2 < free {
			continue
		}
		t.At.X, free = at, at+t.Width/2+0.9
		set.years[i] = t
	}
	if len(set.years) > 0 {
		set.height += leading(l.typ.base)
	}
	return set
}

// chosen picks the periods whose texts are printed: every so many from an
// offset, and always the last one, for which the one before gives way.
func (l *layout) chosen(n, offset, every int, width func(int) float64, gap, from float64) []int {
	var out []int
	end := func(i int) float64 { return l.within(l.x(i), width(i)) + width(i)/2 + gap }
	begin := func(i int) float64 { return l.within(l.x(i), width(i)) - width(i)/2 }
	for i := offset; i < n; i += every {
		if width(i) == 0 || begin(i) < from || len(out) > 0 && begin(i) < end(out[len(out)-1]) {
			continue
		}
		out = append(out, i)
	}
	last := n - 1
	if len(out) > 0 && out[len(out)-1] == last || last < 0 || width(last) == 0 || begin(last) < from {
		return out
	}
	for len(out) > 0 && begin(last) < end(out[len(out)-1]) {
		out = out[:len(out)-1]
	}
	return append(out, last)
}

// within moves a middle so that a text so wide stays on the drawing.
func (l *layout) within(x, width float64) float64 {
	return max(width/2, min(x, l.size.W-width/2))
}

func (l *layout) drawAxis(set axisSet, base float64) {
	l.line(l.left, base, l.right, base, axisStroke)
	months := len(set.labels) > 0
	y := base + tickLength + 0.8
	for i := range l.m.Points {
		_, named := set.labels[i]
		_, year := set.years[i]
		length := tickLength * 0.5
		switch {
		case year:
			length = tickLength * 1.3
		case named:
			length = tickLength
		case l.dx < 1.5 && len(set.years) > 0:
			continue
		}
		l.line(l.x(i), base, l.x(i), base+length, axisStroke)
	}
	for i := range l.m.Points {
		if t, ok := set.labels[i]; ok {
			l.put(t, t.At.X, y+t.Ascent, Middle)
		}
	}
	if months {
		y += leading(l.typ.base)
	}
	for i := range l.m.Points {
		if t, ok := set.years[i]; ok {
			l.put(t, t.At.X, y+t.Ascent, Middle)
		}
	}
}

func (l *layout) rowTexts() rowSet {
	var set rowSet
	if len(l.m.Rows) == 0 {
		return set
	}
	for _, r := range l.m.Rows {
		texts, widest := map[int]Text{}, 0.0
		for i, words := range r.Texts {
			if i < len(l.m.Points) && words != "" {
				words = l.f.Elide(words, l.typ.small, false, 0.2*l.size.W)
				texts[i] = l.f.Text("figure", words, l.typ.small, false, Soft)
				widest = max(widest, texts[i].Width)
			}
		}
		var names []Text
		for _, line := range l.f.Wrap(r.Label, l.typ.small, false, max(l.left-tickLength-0.8, 8)) {
			names = append(names, l.f.Text("row", line, l.typ.small, false, Soft))
		}
		set.texts, set.labels = append(set.texts, texts), append(set.labels, names)
		set.height += float64(max(1, len(names))) * leading(l.typ.small)
		set.every = append(set.every, rhythm(widest-0.4, l.dx, len(l.calendar()) > 0))
	}
	set.height += 1.4
	return set
}

func (l *layout) drawRows(set rowSet, y float64) {
	if len(set.texts) == 0 {
		return
	}
	axis := l.axisLabels()
	y += 0.7
	l.line(0, y, l.right, y, Stroke{Colour: Hair, Width: 0.15})
	y += 0.4
	for k, texts := range set.texts {
		lines := max(1, len(set.labels[k]))
		for i, name := range set.labels[k] {
			l.put(name, 0, y+float64(i)*leading(l.typ.small)+name.Ascent, Start)
		}
		for _, i := range l.chosen(len(l.m.Points), axis.offset%set.every[k], set.every[k], func(i int) float64 { return texts[i].Width }, 0.4, l.left-tickLength) {
			l.put(texts[i], l.within(l.x(i), texts[i].Width), y+texts[i].Ascent, Middle)
		}
		y += float64(lines) * leading(l.typ.small)
	}
}
