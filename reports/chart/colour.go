package chart

import "fmt"

// Colour is an opaque colour; the zero value paints nothing.
type Colour uint32

const painted Colour = 1 << 24

// RGB gives a colour from 0xRRGGBB.
func RGB(hex uint32) Colour { return painted | Colour(hex&0xffffff) }

// On says whether the colour paints at all.
func (c Colour) On() bool { return c&painted != 0 }

// Parts gives the three components, 0 to 255.
func (c Colour) Parts() (r, g, b uint8) { return uint8(c >> 16), uint8(c >> 8), uint8(c) }

// Hex writes the colour as #rrggbb, or "none".
func (c Colour) Hex() string {
	if !c.On() {
		return "none"
	}
	return fmt.Sprintf("#%06x", uint32(c&0xffffff))
}

// The palette: black ink, three greys and one accent. The accent is a plum
// that no ordinary form of colour blindness confuses with the greys, and that
// prints darker than every line except the data; nothing is told by colour
// alone, so a grey print loses nothing.
var (
	Ink    = RGB(0x17191c) // data, titles
	Soft   = RGB(0x4d5359) // words that explain
	Rule   = RGB(0x868d94) // axis, limits
	Hair   = RGB(0xc3c8cd) // separators
	Tint   = RGB(0xeff1f3) // between the limits
	Accent = RGB(0x8f1d5e) // what asks for attention
	Paper  = RGB(0xffffff)
)
