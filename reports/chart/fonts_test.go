package chart_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/jung-kurt/gofpdf"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/reports/chart"
)

func sscan(s string, v *float64) (int, error) { return fmt.Sscan(s, v) }

// Another reader of the same font files gives the same widths; it rounds every
// advance to a thousandth of the em.
func TestWidthsAgreeWithAnotherReader(t *testing.T) {
	doc := gofpdf.New("P", "mm", "A4", "")
	regular, bold := chart.DejaVuFiles()
	doc.AddUTF8FontFromBytes("x", "", regular)
	doc.AddUTF8FontFromBytes("x", "B", bold)
	for _, s := range []string{"Ventilation begun by 60 s", "0123456789", "≥ 37.5 °C, x̄ ± 3σ – “aim”", "WAVE Ave To", "ÄÖÜß éñç Łódź Ελλάδα Жук"} {
		for style, heavy := range map[string]bool{"": false, "B": true} {
			doc.SetFont("x", style, 10)
			require.InDelta(t, doc.GetStringWidth(s), chart.DejaVu().Width(s, 10, heavy), 0.0015*float64(len([]rune(s))), "%s %v", s, heavy)
		}
	}
}

func TestFiguresAreOfOneWidth(t *testing.T) {
	f := chart.DejaVu()
	for r := '0'; r <= '9'; r++ {
		require.Equal(t, f.Width("0", 8, false), f.Width(string(r), 8, false))
	}
}

func TestClean(t *testing.T) {
	f := chart.DejaVu()
	require.Equal(t, "a\uFFFDb", f.Clean("a\U0001F476b", false))
	require.Equal(t, "a\uFFFD", f.Clean("a\x00", false))
	require.Equal(t, "a b c", f.Clean("a\tb\nc", false))
	require.Equal(t, "ab", f.Clean("a\u00adb\u200b", false))
	require.Equal(t, "\uFFFD", f.Clean("\u4e2d", false), "a letter that the typeface has not")
	require.Equal(t, "≥36.5 °C – 10 % σ", f.Clean("≥36.5 °C – 10 % σ", true))
}

func TestWrap(t *testing.T) {
	f := chart.DejaVu()
	require.Empty(t, f.Wrap("", 8, false, 50))
	require.Equal(t, []string{"one", "two"}, f.Wrap("one\ntwo", 8, false, 50))
	for _, line := range f.Wrap("the share is now 39 % of all newborns and the median is 57 s after birth, 36.5 °C", 8, false, 14) {
		require.NotRegexp(t, `^(%|s|°C)( |$)`, line, "a unit stays with its number")
	}
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.StringMatching(`([A-Za-zäß≥]{1,30} ){0,20}`).Draw(t, "words")
		width := rapid.Float64Range(5, 120).Draw(t, "width")
		lines := f.Wrap(words, 9, true, width)
		for _, l := range lines {
			require.LessOrEqual(t, f.Width(l, 9, true), width+1e-3)
		}
		squeeze := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		require.Equal(t, squeeze(words), squeeze(strings.Join(lines, "")), "nothing is lost")
	})
}

func TestReadFontsRefusesWhatIsNoFont(t *testing.T) {
	regular, bold := chart.DejaVuFiles()
	_, err := chart.ReadFonts(regular, bold[:4000])
	require.ErrorContains(t, err, "bold")
	_, err = chart.ReadFonts(nil, bold)
	require.ErrorContains(t, err, "regular")
}
