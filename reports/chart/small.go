package chart

// LaySmall decides the places of a small multiple: the last 24 periods without
// axis or words, limits and centre with their values at the right, the last
// point emphasised, signals by shape.
func LaySmall(m Model, size Size, fonts *Fonts, n Numbers) Drawing {
	m = tidy(lastPeriods(m, 24))
	m.Y.Label, m.Kind, m.Target, m.Marks, m.Rows, m.Notes = "", "", nil, nil, nil, nil
	for i := range m.Points {
		m.Points[i].Low, m.Points[i].High = nil, nil
	}
	l := &layout{m: m, f: fonts, n: n, size: size, typ: sizes{base: 5.8, small: 5.8, title: 8, subtitle: 7}, bare: true}
	d := Drawing{W: size.W, H: size.H, Title: m.Title, Alt: m.Alt}
	last := -1
	for i := range m.Points {
		if m.Points[i].Has {
			last = i
		}
	}
	if last < 0 {
		t := fonts.Text("nothing", "no value", l.typ.subtitle, false, Soft)
		l.line(0, size.H/2, size.W, size.H/2, Stroke{Colour: Hair, Width: 0.2, Dash: []float64{0.3, 0.9}})
		if t.Width <= size.W {
			l.put(t, 0, size.H/2-0.8, Start)
		}
		d.Items = l.items
		return d
	}
	l.smallEnds()
	l.left, l.right = 0.2, size.W
	for _, e := range l.ends {
		l.right = min(l.right, size.W-e.text.Width-1.6)
	}
	l.dx = (l.right - l.left) / float64(max(len(m.Points), 12))
	pad := 1.4
	l.sc = newScale(m, size.H)
	l.sc.top, l.sc.bottom = pad, size.H-pad
	l.drawBand()
	for _, p := range m.Phases {
		if p.From > 0 {
			l.line(l.edge(p.From), 0, l.edge(p.From), size.H, breakStroke)
		}
	}
	l.drawLimits()
	l.drawData()
	p := m.Points[last]
	at := Pos{l.x(last), l.sc.y(p.Value)}
	l.add(Circle{Centre: at, Radius: reach(l.shapeAt(last), l.radius()) + 0.55, Stroke: Stroke{Colour: Ink, Width: 0.2}})
	l.drawSmallEnds()
	d.Items = l.items
	return d
}

// lastPeriods keeps the last n periods and moves what refers to them.
func lastPeriods(m Model, n int) Model {
	cut := max(0, len(m.Points)-n)
	m.Points = m.Points[cut:]
	signals := make([]Signal, 0, len(m.Signals))
	for _, s := range m.Signals {
		var keep []int
		for _, i := range s.Points {
			if i >= cut {
				keep = append(keep, i-cut)
			}
		}
		if len(keep) > 0 {
			s.Points = keep
			signals = append(signals, s)
		}
	}
	m.Signals = signals
	var phases []Phase
	for _, p := range m.Phases {
		if p.To >= cut {
			p.From, p.To = max(0, p.From-cut), p.To-cut
			phases = append(phases, p)
		}
	}
	m.Phases = phases
	return m
}

// smallEnds writes bare values: the centre's in bold between the limits'.
func (l *layout) smallEnds() {
	for _, e := range []struct {
		role string
		bold bool
		of   func(*Point) *float64
	}{
		{"upper", false, func(p *Point) *float64 { return p.Upper }},
		{"centre", true, func(p *Point) *float64 { return p.Centre }},
		{"lower", false, func(p *Point) *float64 { return p.Lower }},
	} {
		for i := len(l.m.Points) - 1; i >= 0; i-- {
			if v := e.of(&l.m.Points[i]); v != nil {
				c := Soft
				if e.bold {
					c = Ink
				}
				t := l.f.Text(e.role, l.n.bare(l.m.Y.Format, *v), l.typ.base, e.bold, c)
				l.ends = append(l.ends, endLabel{text: t, value: *v, from: i})
				break
			}
		}
	}
}

// drawSmallEnds places the values; in a very low chart only those that fit.
func (l *layout) drawSmallEnds() {
	gap := leading(l.typ.base) * 0.86
	keep := l.ends
	if float64(len(keep))*gap > l.size.H {
		keep = nil
		for _, e := range l.ends {
			if e.text.Bold {
				keep = append(keep, e)
			}
		}
	}
	order := make([]endLabel, 0, len(keep))
	for _, e := range keep {
		k := len(order)
		for k > 0 && l.sc.y(order[k-1].value) > l.sc.y(e.value) {
			k--
		}
		order = append(order[:k], append([]endLabel{e}, order[k:]...)...)
	}
	want := make([]float64, len(order))
	for i, e := range order {
		want[i] = l.sc.y(e.value)
	}
	em := l.typ.base * pointMM
	for i, y := range spread(want, gap, 0.42*em, l.size.H-0.62*em) {
		t := order[i].text
		l.put(t, l.end()+1.4, y+t.Ascent*0.48, Start)
	}
}
