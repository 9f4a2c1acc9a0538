package chart

// Surface is what a Drawing is drawn on. Lengths are millimetres from the top
// left corner, x to the right and y downwards; a Surface decides no position
// and keeps no state between calls except the clip.
type Surface interface {
	Line(Line)
	Polyline(Polyline)
	Rect(Rect)
	Polygon(Polygon)
	Circle(Circle)
	Text(Text)
	Clip(Box)
	Unclip()
}

// Pos is a place on the surface.
type Pos struct{ X, Y float64 }

// Stroke is how a line is drawn; no colour or no width draws nothing.
type Stroke struct {
	Colour Colour
	Width  float64
	Dash   []float64 // lengths drawn and left out in turn; nil: solid
}

// On says whether the stroke leaves a trace.
func (s Stroke) On() bool { return s.Colour.On() && s.Width > 0 }

// Line is a straight line.
type Line struct {
	From, To Pos
	Stroke   Stroke
}

// Polyline is an open chain of at least two places.
type Polyline struct {
	Points []Pos
	Stroke Stroke
}

// Rect is an upright rectangle.
type Rect struct {
	Box    Box
	Fill   Colour
	Stroke Stroke
}

// Polygon is a closed chain of at least three places.
type Polygon struct {
	Points []Pos
	Fill   Colour
	Stroke Stroke
}

// Circle is a full circle.
type Circle struct {
	Centre Pos
	Radius float64
	Fill   Colour
	Stroke Stroke
}

// Anchor says which part of a text stands at its place.
type Anchor uint8

// The three anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of words. Its size on the surface was measured when it was
// made, so that a renderer never measures.
type Text struct {
	At      Pos // on the baseline
	Words   string
	Anchor  Anchor
	Up      bool    // reads upwards, turned by a quarter
	Size    float64 // points
	Bold    bool
	Colour  Colour
	Role    string // what the words are: "title", "tick", "centre"; for tests and readers of a dump
	Width   float64
	Ascent  float64
	Descent float64
}

// Box is the rectangle that the words take.
func (t Text) Box() Box {
	back := 0.0
	switch t.Anchor {
	case Start:
	case Middle:
		back = t.Width / 2
	case End:
		back = t.Width
	}
	if t.Up {
		return Box{X: t.At.X - t.Ascent, Y: t.At.Y + back - t.Width, W: t.Ascent + t.Descent, H: t.Width}
	}
	return Box{X: t.At.X - back, Y: t.At.Y - t.Ascent, W: t.Width, H: t.Ascent + t.Descent}
}

// Box is an upright rectangle: its top left corner, width and height.
type Box struct{ X, Y, W, H float64 }

// Right is the x of the right edge.
func (b Box) Right() float64 { return b.X + b.W }

// Bottom is the y of the lower edge.
func (b Box) Bottom() float64 { return b.Y + b.H }

// Grow gives the box with a margin of d on every side.
func (b Box) Grow(d float64) Box { return Box{b.X - d, b.Y - d, b.W + 2*d, b.H + 2*d} }

// Meets says whether two boxes share more than an edge.
func (b Box) Meets(o Box) bool {
	return b.X < o.Right() && o.X < b.Right() && b.Y < o.Bottom() && o.Y < b.Bottom()
}

// crosses says whether the straight line from p to q enters the box.
func (b Box) crosses(p, q Pos) bool {
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{
		{p.X - q.X, p.X - b.X},
		{q.X - p.X, b.Right() - p.X},
		{p.Y - q.Y, p.Y - b.Y},
		{q.Y - p.Y, b.Bottom() - p.Y},
	} {
		d, s := e[0], e[1] // the line is inside this edge where d*t <= s
		switch {
		case d == 0 && s < 0:
			return false
		case d < 0:
			t0 = max(t0, s/d)
		case d > 0:
			t1 = min(t1, s/d)
		}
	}
	return t0 <= t1
}
