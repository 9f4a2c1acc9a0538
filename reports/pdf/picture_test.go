package pdf

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
	"chestrise/reports/chart"
)

// box is a drawing with one word in it.
func box(words string, h float64) chart.Drawing {
	t := chart.DejaVu().Text("word", words, 8, false, chart.Ink)
	t.At = chart.Pos{X: 2, Y: 5}
	return chart.Drawing{W: bodyW, H: h, Items: []chart.Item{chart.Rect{Box: chart.Box{W: bodyW, H: h}, Fill: chart.Tint}, t}}
}

func rendered(t *testing.T, blocks ...reports.Block) []page {
	t.Helper()
	pages, _ := compose(&reports.Document{Sections: []reports.Section{{ID: "s", Title: "s", Blocks: blocks}}}, stamp)
	for i, p := range pages {
		require.Empty(t, chart.Overlaps(p.drawing), "page %d", i+1)
		require.Empty(t, chart.Outside(p.drawing), "page %d", i+1)
	}
	return pages
}

func said(p page) string {
	var w []string
	for _, x := range p.drawing.Texts() {
		w = append(w, x.Words)
	}
	return strings.Join(w, " ")
}

func TestPicturesTakeALowerFormWhereItFits(t *testing.T) {
	pages := rendered(t, reports.Picture{Drawing: box("tall", 200)}, reports.Picture{Drawing: box("three lines", 60), Lower: []chart.Drawing{box("two lines", 45), box("one line", 20)}})
	require.Len(t, pages, 1)
	require.Contains(t, said(pages[0]), "one line")
	pages = rendered(t, reports.Picture{Drawing: box("tall", 200)}, reports.Picture{Drawing: box("three lines", 60)})
	require.Len(t, pages, 2)
	require.Contains(t, said(pages[1]), "three lines")
}

func TestAPictureWithoutADrawingIsItsTable(t *testing.T) {
	pages := rendered(t, reports.Picture{Table: reports.Table{Columns: []reports.Column{{Title: "a", Text: true}}, Rows: [][]reports.Cell{{{Text: "in words"}}}}})
	require.Contains(t, said(pages[0]), "in words")
}

func TestColumns(t *testing.T) {
	card := func(title string, lines int) reports.Card {
		c := reports.Card{Title: title}
		for range lines {
			c.Lines = append(c.Lines, "A line that is long enough to be broken at the width of a column, and then some.")
		}
		return c
	}
	var many []reports.Card
	for i := range 23 {
		many = append(many, card(string(rune('a'+i)), i%9))
	}
	pages := rendered(t, reports.Columns{}, reports.Columns{Cards: []reports.Card{card("nothing in it", 0)}}, reports.Columns{Cards: many},
		reports.Columns{Cards: []reports.Card{card("higher than a page", 60), card("beside it", 2)}})
	var texts []string
	for _, p := range pages {
		texts = append(texts, said(p))
	}
	all := strings.Join(texts, " ")
	lines := 60 + 2
	for i := range many {
		lines += len(many[i].Lines)
	}
	require.Equal(t, lines, strings.Count(all, "A line that is long"), "no line is lost")
	require.NotContains(t, all, "nothing in it")
}

// The columns are as low as they can be: no other arrangement is lower.
func TestColumnsAreBalanced(t *testing.T) {
	c := &composer{f: chart.DejaVu()}
	c.top, c.bottom = 0, 250
	var cards []reports.Card
	for _, n := range []int{6, 1, 1, 3, 2, 5} {
		cards = append(cards, reports.Card{Title: "t", Lines: make([]string, n)})
		for i := range cards[len(cards)-1].Lines {
			cards[len(cards)-1].Lines[i] = "x"
		}
	}
	_, height := c.arrange(cards)
	line := lead(sizeSmall) + 0.5
	want := 6*line + lead(sizeSmall) + 0.8 // 6 alone; 1 and 5; 1, 3 and 2 with two more titles
	require.GreaterOrEqual(t, height, want-1e-9)
	require.Less(t, height, want+2*(lead(sizeSmall)+0.8+cardGap)+1e-9)
}
