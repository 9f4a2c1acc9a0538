package workbook

import (
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"

	"chestrise/reports/chart"
)

// stroke is a line: width in points, dash by the file format's name.
type stroke struct {
	colour string
	width  float64
	dash   string // empty: solid
}

// marker is the shape at a point: size in points.
type marker struct {
	symbol       string // "circle", "diamond", "dash"
	size         int
	fill, border string
}

// curve is a series of a chart.
type curve struct {
	x, y   *list
	line   *stroke
	mark   *marker
	of     *ranges // of the values: which points are marked or joined otherwise
	labels []label // one a point, or none
	legend bool    // named in the legend
}

// The forms of what is drawn. They differ in shape and dash, so that none
// needs its colour.
var (
	limitLine  = stroke{line, 1.25, ""}
	centreLine = stroke{soft, 1.5, ""}
	aimLine    = stroke{ink, 1.25, "lgDashDot"}
	markLine   = stroke{soft, 1, "sysDot"}
	phaseLine  = stroke{line, 1, ""}
	boundsLine = stroke{soft, 0.75, ""}
	valueLine  = stroke{ink, 1.25, ""}
)

const provisionalDash = "dash"

// signalShape is the form of a point that belongs to a signal.
var signalShape = [3]string{chart.Neither: "plus", chart.Better: "square", chart.Worse: "diamond"}

// lines are the curves of centre, limits and aim, thin in a small chart.
func (r *ranges) lines(p *plot, thin float64) []curve {
	var out []curve
	for k, key := range [3]string{"lower", "upper", "centre"} {
		s := limitLine
		if key == "centre" {
			s = centreLine
		}
		s.width *= thin
		dashed := s
		dashed.dash = provisionalDash
		out = append(
			out,
			curve{x: r.stepX, y: r.settled[k], line: &s, legend: !p.named[key]},
			curve{x: r.stepX, y: r.provisional[k], line: &dashed, legend: !p.named[key]},
		)
	}
	if r.aim != nil {
		s := aimLine
		s.width *= thin
		out = append(out, curve{x: r.aimX, y: r.aim, line: &s, legend: !p.named["aim"]})
	}
	return out
}

// dots are the curves of the values and of the points that differ; sizes in
// points.
func (r *ranges) dots(dot, ring, signal int, line stroke) []curve {
	out := []curve{
		{x: r.no, y: r.value, line: &line, mark: &marker{"circle", dot, ink, ink}, of: r, legend: true},
		// a ring is made of two: programs differ in which they draw first, and
		// some cannot draw a border of another colour than the shape's
		{x: r.hollowX, y: r.hollow, mark: &marker{"circle", ring - 3, white, white}},
		{x: r.hollowX, y: r.hollow, mark: &marker{"circle", ring, "", ink}, legend: true},
	}
	for s, shape := range signalShape {
		m := marker{shape, signal, accent, white}
		switch shape {
		case "square": // as large as the others to the eye
			m.size -= 2
		case "plus": // it is all border
			m.border = accent
		}
		out = append(out, curve{x: r.signalX[s], y: r.signal[s], mark: &m, legend: true})
	}
	return out
}

// controlChart writes the chart of a measure.
func controlChart(p *plot, r *ranges) []byte {
	dot, signal := 6, 11
	if len(p.m.Points) > 60 {
		dot, signal = 4, 8
	}
	curves := append(
		r.lines(p, 1),
		curve{x: r.phasesX, y: r.phases, line: &phaseLine},
		curve{x: r.marksX, y: r.marks, line: &markLine},
		curve{x: r.boundsX, y: r.bounds, line: &boundsLine, mark: &marker{"dash", 5, soft, soft}, legend: true},
	)
	curves = append(curves, r.dots(dot, dot+2, signal, valueLine)...)
	curves = append(curves, curve{x: r.labelX, y: r.labelY, labels: p.labels})
	var b strings.Builder
	begin(&b)
	b.WriteString(`<c:title><c:tx><c:rich><a:bodyPr/><a:lstStyle/>`)
	for _, l := range p.title {
		paragraph(&b, l, plotTitle, true, ink, "l")
	}
	b.WriteString(`</c:rich></c:tx>` + fixed(10/p.w, 8/p.h, 0, 0, "") + `<c:overlay val="0"/></c:title>`)
	b.WriteString(`<c:autoTitleDeleted val="0"/><c:plotArea>`)
	b.WriteString(fixed(p.left/p.w, p.top/p.h, (p.right-p.left)/p.w, (p.bottom-p.top)/p.h, "inner"))
	dropped := series(&b, curves)
	axes(&b, p, false)
	b.WriteString(`<c:spPr><a:noFill/><a:ln><a:noFill/></a:ln></c:spPr></c:plotArea>`)
	b.WriteString(`<c:legend><c:legendPos val="b"/>`)
	for _, i := range dropped {
		fmt.Fprintf(&b, `<c:legendEntry><c:idx val="%d"/><c:delete val="1"/></c:legendEntry>`, i)
	}
	b.WriteString(`<c:overlay val="0"/>` + textStyle(plotLabel, ink) + `</c:legend>`)
	end(&b, true)
	return []byte(b.String())
}

// smallChart writes a chart for an overview: the course and its lines, no
// words. What it means stands beside it.
func smallChart(p *plot, r *ranges) []byte {
	curves := append(r.lines(p, 0.6), r.dots(2, 5, 7, stroke{ink, 1, ""})...)
	var b strings.Builder
	begin(&b)
	b.WriteString(`<c:autoTitleDeleted val="1"/><c:plotArea>` + fixed(0.01, 0.05, 0.98, 0.9, "inner"))
	series(&b, curves)
	axes(&b, p, true)
	b.WriteString(`<c:spPr><a:noFill/><a:ln><a:noFill/></a:ln></c:spPr></c:plotArea>`)
	end(&b, false)
	return []byte(b.String())
}

func begin(b *strings.Builder) {
	b.WriteString(xml.Header + `<c:chartSpace xmlns:c="http://schemas.openxmlformats.org/drawingml/2006/chart"` +
		` xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"` +
		` xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">` +
		`<c:date1904 val="0"/><c:roundedCorners val="0"/><c:chart>`)
}

func end(b *strings.Builder, ground bool) {
	b.WriteString(`<c:plotVisOnly val="0"/><c:dispBlanksAs val="gap"/></c:chart>`)
	fill := `<a:noFill/>`
	if ground { // a slide's colour must not shine through
		fill = solid(white)
	}
	b.WriteString(`<c:spPr>` + fill + `<a:ln><a:noFill/></a:ln></c:spPr>` + textStyle(plotLabel, ink))
	b.WriteString(`<c:printSettings><c:headerFooter/><c:pageMargins b="0.75" l="0.7" r="0.7" t="0.75" header="0.3" footer="0.3"/>` +
		`<c:pageSetup/></c:printSettings></c:chartSpace>`)
}

// series writes the curves that have anything to draw, in the order in which
// they are drawn, and returns the places of those that the legend leaves out.
func series(b *strings.Builder, curves []curve) (dropped []int) {
	b.WriteString(`<c:scatterChart><c:scatterStyle val="lineMarker"/><c:varyColors val="0"/>`)
	i := 0
	for _, c := range curves {
		if c.y == nil || !c.y.any() && c.mark == nil || c.y.len() == 0 {
			continue
		}
		fmt.Fprintf(b, `<c:ser><c:idx val="%d"/><c:order val="%d"/>`, i, i)
		b.WriteString(`<c:tx><c:strRef><c:f>` + escapeXML(c.y.name.String()) + `</c:f><c:strCache><c:ptCount val="1"/>` +
			`<c:pt idx="0"><c:v>` + escapeXML(oneLine(c.y.head)) + `</c:v></c:pt></c:strCache></c:strRef></c:tx>`)
		b.WriteString(`<c:spPr>` + lineXML(c.line) + `</c:spPr>` + markerXML(c.mark))
		if c.of != nil {
			c.points(b)
		}
		if len(c.labels) > 0 {
			labelsXML(b, c.labels)
		}
		b.WriteString(`<c:xVal>` + numbers(c.x) + `</c:xVal><c:yVal>` + numbers(c.y) + `</c:yVal><c:smooth val="0"/></c:ser>`)
		if !c.legend {
			dropped = append(dropped, i)
		}
		i++
	}
	b.WriteString(`<c:axId val="1001"/><c:axId val="1002"/></c:scatterChart>`)
	return dropped
}

// points writes what is special about single points of the values: the mark
// that another series draws, and the line that leads to the point.
func (c curve) points(b *strings.Builder) {
	broken := *c.line
	broken.dash = "sysDash"
	for k := range c.of.bare {
		if !c.of.bare[k] && !c.of.open[k] && !c.of.fresh[k] {
			continue
		}
		mark, line := c.mark, c.line
		if c.of.bare[k] {
			mark = nil
		}
		switch {
		case c.of.fresh[k]:
			line = nil
		case c.of.open[k]:
			line = &broken
		}
		fmt.Fprintf(b, `<c:dPt><c:idx val="%d"/>%s<c:bubble3D val="0"/><c:spPr>%s</c:spPr></c:dPt>`, k, markerXML(mark), lineXML(line))
	}
}

func lineXML(s *stroke) string {
	if s == nil {
		return `<a:ln w="12700"><a:noFill/></a:ln>`
	}
	dash := ""
	if s.dash != "" {
		dash = `<a:prstDash val="` + s.dash + `"/>`
	}
	return fmt.Sprintf(`<a:ln w="%d" cap="flat">%s%s<a:round/></a:ln>`, int(s.width*12700), solid(s.colour), dash)
}

func markerXML(m *marker) string {
	if m == nil {
		return `<c:marker><c:symbol val="none"/></c:marker>`
	}
	fill := `<a:noFill/>`
	if m.fill != "" {
		fill = solid(m.fill)
	}
	return fmt.Sprintf(`<c:marker><c:symbol val="%s"/><c:size val="%d"/><c:spPr>%s<a:ln w="12700">%s</a:ln></c:spPr></c:marker>`,
		m.symbol, m.size, fill, solid(m.border))
}

// labelsXML writes a text at each point of a series.
func labelsXML(b *strings.Builder, labels []label) {
	b.WriteString(`<c:dLbls>`)
	for i, l := range labels {
		fmt.Fprintf(b, `<c:dLbl><c:idx val="%d"/><c:tx><c:rich><a:bodyPr wrap="none" lIns="0" tIns="0" rIns="0" bIns="0"/><a:lstStyle/>`, i)
		align, ground := "ctr", `<a:noFill/>`
		if l.solid {
			ground = solid(white)
		}
		if l.place == right {
			align = "l"
		}
		for _, t := range l.lines {
			paragraph(b, t, l.pt, l.bold, l.colour, align)
		}
		b.WriteString(`</c:rich></c:tx><c:spPr>` + ground + `<a:ln><a:noFill/></a:ln></c:spPr><c:dLblPos val="` + string(l.place) + `"/>` +
			`<c:showLegendKey val="0"/><c:showVal val="1"/><c:showCatName val="0"/><c:showSerName val="0"/><c:showPercent val="0"/>` +
			`<c:showBubbleSize val="0"/></c:dLbl>`)
	}
	b.WriteString(`<c:spPr><a:noFill/><a:ln><a:noFill/></a:ln></c:spPr>` +
		`<c:showLegendKey val="0"/><c:showVal val="0"/><c:showCatName val="0"/><c:showSerName val="0"/><c:showPercent val="0"/>` +
		`<c:showBubbleSize val="0"/></c:dLbls>`)
}

// numbers writes a reference with the numbers that stand there, so that a
// viewer that does not follow references shows the same chart.
func numbers(l *list) string {
	var b strings.Builder
	b.WriteString(`<c:numRef><c:f>` + escapeXML(l.where.String()) + `</c:f><c:numCache><c:formatCode>General</c:formatCode>`)
	fmt.Fprintf(&b, `<c:ptCount val="%d"/>`, len(l.nums))
	for i, v := range l.nums {
		if l.has[i] {
			fmt.Fprintf(&b, `<c:pt idx="%d"><c:v>%s</c:v></c:pt>`, i, number(v))
		}
	}
	b.WriteString(`</c:numCache></c:numRef>`)
	return b.String()
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func axes(b *strings.Builder, p *plot, bare bool) {
	scaling := func(lo, hi float64) string {
		return `<c:scaling><c:orientation val="minMax"/><c:max val="` + number(hi) + `"/><c:min val="` + number(lo) + `"/></c:scaling>`
	}
	lo, hi := p.xmin, p.xmax
	if bare {
		lo, hi = 0, float64(len(p.m.Points))+1
	}
	hidden := `<c:delete val="0"/>`
	if bare {
		hidden = `<c:delete val="1"/>`
	}
	// periods: the axis is a line, its words are labels of a series of their own
	b.WriteString(`<c:valAx><c:axId val="1001"/>` + scaling(lo, hi) + hidden + `<c:axPos val="b"/>` +
		`<c:numFmt formatCode="0" sourceLinked="0"/><c:majorTickMark val="none"/><c:minorTickMark val="none"/><c:tickLblPos val="none"/>` +
		`<c:spPr>` + lineXML(&stroke{line, 1, ""}) + `</c:spPr>` + textStyle(plotSmall, soft) +
		`<c:crossAx val="1002"/><c:crosses val="min"/><c:crossBetween val="midCat"/></c:valAx>`)
	b.WriteString(`<c:valAx><c:axId val="1002"/>` + scaling(p.ymin, p.ymax) + hidden + `<c:axPos val="l"/>`)
	if !bare {
		b.WriteString(`<c:majorGridlines><c:spPr>` + lineXML(&stroke{pale, 0.75, ""}) + `</c:spPr></c:majorGridlines>`)
		if p.m.Y.Label != "" {
			b.WriteString(`<c:title><c:tx><c:rich><a:bodyPr rot="-5400000" vert="horz"/><a:lstStyle/>`)
			for _, l := range wrapTo(p.m.Y.Label, 1, p.bottom-p.top, plotLabel, false) {
				paragraph(b, l, plotLabel, false, soft, "ctr")
			}
			b.WriteString(`</c:rich></c:tx><c:overlay val="0"/></c:title>`)
		}
	}
	fmt.Fprintf(b, `<c:numFmt formatCode="%s" sourceLinked="0"/>`, escapeXML(axisPattern(p.m.Y.Format, p.ystep)))
	b.WriteString(`<c:majorTickMark val="none"/><c:minorTickMark val="none"/><c:tickLblPos val="low"/>` +
		`<c:spPr>` + lineXML(&stroke{line, 1, ""}) + `</c:spPr>` + textStyle(plotSmall, soft) +
		`<c:crossAx val="1001"/><c:crosses val="min"/><c:crossBetween val="midCat"/>` +
		`<c:majorUnit val="` + number(p.ystep) + `"/></c:valAx>`)
}

// fixed is a place by fractions of the chart, from its top left corner; with
// no size, the size is the program's affair.
func fixed(x, y, w, h float64, target string) string {
	var b strings.Builder
	b.WriteString(`<c:layout><c:manualLayout>`)
	if target != "" {
		b.WriteString(`<c:layoutTarget val="` + target + `"/>`)
	}
	b.WriteString(`<c:xMode val="edge"/><c:yMode val="edge"/>`)
	fmt.Fprintf(&b, `<c:x val="%.5f"/><c:y val="%.5f"/>`, x, y)
	if w > 0 {
		fmt.Fprintf(&b, `<c:w val="%.5f"/><c:h val="%.5f"/>`, w, h)
	}
	b.WriteString(`</c:manualLayout></c:layout>`)
	return b.String()
}

func solid(colour string) string {
	return `<a:solidFill><a:srgbClr val="` + colour + `"/></a:solidFill>`
}

func font(tag string, pt float64, bold bool, colour string) string {
	flag := 0
	if bold {
		flag = 1
	}
	return fmt.Sprintf(`<a:%s sz="%d" b="%d">%s<a:latin typeface="%s"/><a:cs typeface="%s"/></a:%s>`,
		tag, int(pt*100), flag, solid(colour), face, face, tag)
}

// paragraph writes one line of rich text.
func paragraph(b *strings.Builder, text string, pt float64, bold bool, colour, align string) {
	b.WriteString(`<a:p><a:pPr algn="` + align + `">` + font("defRPr", pt, bold, colour) + `</a:pPr><a:r>` +
		font("rPr", pt, bold, colour) + `<a:t>` + escapeXML(text) + `</a:t></a:r></a:p>`)
}

// textStyle is the style of words that the program writes itself.
func textStyle(pt float64, colour string) string {
	return fmt.Sprintf(`<c:txPr><a:bodyPr rot="0" vert="horz"/><a:lstStyle/><a:p><a:pPr>%s</a:pPr><a:endParaRPr lang="en-US"/></a:p></c:txPr>`,
		font("defRPr", pt, false, colour))
}
