package chart

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
)

// Family is the name of the typeface that DejaVu measures.
const Family = "DejaVu Sans Condensed"

// pointMM is a typographic point in millimetres.
const pointMM = 25.4 / 72

// Unknown stands for every character that the typeface cannot show.
const Unknown = '\uFFFD'

// Fonts measures and cleans text in two weights of one typeface. It is safe
// for use by several goroutines.
type Fonts struct{ regular, bold *face }

// DejaVu gives the metrics of DejaVu Sans Condensed, read from the font files
// themselves: its figures are all of one width and it has every sign that a
// chart of this kind needs.
var DejaVu = sync.OnceValue(func() *Fonts {
	f, err := ReadFonts(dejavusanscondensed.TTF, dejavusanscondensedbold.TTF)
	if err != nil {
		panic("chart: built-in font: " + err.Error()) // the bytes are compiled in
	}
	return f
})

// DejaVuFiles gives the two font files, regular and bold, for embedding.
func DejaVuFiles() (regular, bold []byte) {
	return dejavusanscondensed.TTF, dejavusanscondensedbold.TTF
}

// ReadFonts reads the metrics of two TrueType files.
func ReadFonts(regular, bold []byte) (*Fonts, error) {
	r, err := readFace(regular)
	if err != nil {
		return nil, fmt.Errorf("regular: %w", err)
	}
	b, err := readFace(bold)
	if err != nil {
		return nil, fmt.Errorf("bold: %w", err)
	}
	return &Fonts{regular: r, bold: b}, nil
}

func (f *Fonts) face(bold bool) *face {
	if bold {
		return f.bold
	}
	return f.regular
}

// Width gives the width of one line of text in millimetres.
func (f *Fonts) Width(words string, size float64, bold bool) float64 {
	fc, sum := f.face(bold), 0
	for _, r := range words {
		sum += fc.advance(r)
	}
	return float64(sum) / fc.unitsPerEm * size * pointMM
}

// Text measures one line and gives it as an item to place.
func (f *Fonts) Text(role, words string, size float64, bold bool, c Colour) Text {
	words = f.Clean(words, bold)
	fc := f.face(bold)
	return Text{
		Words: words, Size: size, Bold: bold, Colour: c, Role: role,
		Width:  f.Width(words, size, bold),
		Ascent: fc.ascent * size * pointMM, Descent: fc.descent * size * pointMM,
	}
}

// Clean replaces what the typeface cannot show by U+FFFD and white space of
// every kind by a blank; soft control characters are dropped with it.
func (f *Fonts) Clean(words string, bold bool) string {
	fc := f.face(bold)
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r' || r == '\v' || r == '\f' || r == 0x85 || r == 0x2028 || r == 0x2029:
			return ' '
		case r == 0xAD || r == 0x200B || r == 0xFEFF:
			return -1 // soft hyphen, zero-width space, byte order mark: nothing to see
		case unicode.IsControl(r), r > 0xFFFF, !fc.has(r):
			return Unknown
		}
		return r
	}, words)
}

// Wrap breaks words into lines no wider than width, at blanks; a number stays
// with its unit, and only a word that is wider than a whole line is broken
// inside. An empty text has no line; a line break in the text is kept.
func (f *Fonts) Wrap(words string, size float64, bold bool, width float64) []string {
	var lines []string
	for para := range strings.SplitSeq(words, "\n") {
		lines = append(lines, f.wrapLine(f.Clean(para, bold), size, bold, width)...)
	}
	return lines
}

// rounding keeps a text in a column that was made as wide as the text.
const rounding = 1e-6

func (f *Fonts) wrapLine(words string, size float64, bold bool, width float64) []string {
	var lines []string
	line := ""
	for _, w := range unbroken(words) {
		next := w
		if line != "" {
			next = line + " " + w
		}
		if f.Width(next, size, bold) <= width+rounding {
			line = next
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for f.Width(w, size, bold) > width+rounding {
			head := f.fitting(w, size, bold, width)
			lines = append(lines, head)
			w = w[len(head):]
		}
		line = w
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// fitting gives the longest beginning of a word that fits, one rune at least.
func (f *Fonts) fitting(w string, size float64, bold bool, width float64) string {
	end, prev := len(w), 0
	for i := range w {
		if i > 0 && f.Width(w[:i], size, bold) > width {
			end = prev
			break
		}
		if i > 0 {
			prev = i
		}
	}
	if end == len(w) && prev > 0 {
		end = prev
	}
	if end == 0 {
		for i := range w {
			if i > 0 {
				return w[:i]
			}
		}
		return w
	}
	return w[:end]
}

// Elide shortens a line that is wider than width and ends it in an ellipsis.
func (f *Fonts) Elide(words string, size float64, bold bool, width float64) string {
	words = f.Clean(words, bold)
	if f.Width(words, size, bold) <= width+rounding {
		return words
	}
	return strings.TrimRight(f.fitting(words, size, bold, width-f.Width("…", size, bold)), " ") + "…"
}

// Longest gives the width of the widest piece that Wrap would not break.
func (f *Fonts) Longest(words string, size float64, bold bool) float64 {
	widest := 0.0
	for _, w := range unbroken(f.Clean(words, bold)) {
		widest = max(widest, f.Width(w, size, bold))
	}
	return widest
}

// unbroken splits at blanks, but not between a number and its unit.
func unbroken(words string) []string {
	parts := strings.FieldsFunc(words, func(r rune) bool { return r == ' ' })
	out := parts[:0]
	for _, p := range parts {
		if n := len(out); n > 0 && isUnit(p) && endsInDigit(out[n-1]) {
			out[n-1] += " " + p
			continue
		}
		out = append(out, p)
	}
	return out
}

// isUnit says whether a word is a unit, with or without what closes a phrase.
func isUnit(word string) bool {
	switch strings.TrimRight(word, ".,;:)") {
	case "%", "s", "°C":
		return true
	}
	return false
}

func endsInDigit(s string) bool {
	return s != "" && s[len(s)-1] >= '0' && s[len(s)-1] <= '9'
}

// face is what is read from one TrueType file.
type face struct {
	unitsPerEm      float64
	ascent, descent float64 // of the em, both positive
	advances        []uint16
	glyphs          [0x10000]uint16 // of the basic plane; 0: missing
}

func (f *face) has(r rune) bool { return r >= 0 && r < 0x10000 && f.glyphs[r] != 0 }

func (f *face) advance(r rune) int {
	g := 0
	if r >= 0 && r < 0x10000 {
		g = int(f.glyphs[r])
	}
	return int(f.advances[min(g, len(f.advances)-1)])
}

var errFont = errors.New("not a TrueType font that can be measured")

// readFace reads the tables head, hhea, hmtx, OS/2 and cmap (format 4) as
// described in the OpenType specification, version 1.9.
func readFace(b []byte) (f *face, err error) {
	defer func() {
		if recover() != nil { // an offset outside the file
			f, err = nil, errFont
		}
	}()
	u16 := func(t []byte, at int) int { return int(binary.BigEndian.Uint16(t[at:])) }
	i16 := func(t []byte, at int) float64 { return float64(int16(binary.BigEndian.Uint16(t[at:]))) }
	u32 := func(t []byte, at int) int { return int(binary.BigEndian.Uint32(t[at:])) }
	b = slices.Clip(b)
	tables := map[string][]byte{}
	for i := range u16(b, 4) {
		e := b[12+16*i:]
		tables[string(e[:4])] = b[u32(e, 8) : u32(e, 8)+u32(e, 12)]
	}
	f = &face{unitsPerEm: float64(u16(tables["head"], 18))}
	os2 := tables["OS/2"]
	f.ascent, f.descent = i16(os2, 68)/f.unitsPerEm, -i16(os2, 70)/f.unitsPerEm
	f.advances = make([]uint16, u16(tables["hhea"], 34))
	for i := range f.advances {
		f.advances[i] = binary.BigEndian.Uint16(tables["hmtx"][4*i:])
	}
	cmap := tables["cmap"]
	for i := range u16(cmap, 2) {
		sub := cmap[u32(cmap, 8+8*i):]
		if u16(sub, 0) != 4 {
			continue
		}
		n := u16(sub, 6)
		for s := 0; s < n; s += 2 {
			last, first := u16(sub, 14+s), u16(sub, 16+n+s)
			delta, rangeAt := u16(sub, 16+2*n+s), 16+3*n+s
			for c := first; c <= last && c < 0xFFFF; c++ {
				g := c + delta
				if off := u16(sub, rangeAt); off != 0 {
					if g = u16(sub, rangeAt+off+2*(c-first)); g != 0 {
						g += delta
					}
				}
				f.glyphs[c] = uint16(g)
			}
		}
		if len(f.advances) == 0 || f.unitsPerEm == 0 {
			break
		}
		return f, nil
	}
	return nil, errFont
}
