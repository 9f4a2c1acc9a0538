package yamlfile

import (
	"fmt"
	"slices"
	"strings"
)

// Problem is something wrong at a place in a file.
type Problem struct {
	File    string
	Line    int // 0: the whole file
	Column  int // 0: the whole line
	Message string
	Hint    string // how to mend it; may be empty
}

// String prints "file:line:column: message" and, on a line of its own, the hint.
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
		if p.Column > 0 {
			fmt.Fprintf(&b, ":%d", p.Column)
		}
	}
	b.WriteString(": ")
	b.WriteString(p.Message)
	if p.Hint != "" {
		b.WriteString("\nhint: ")
		b.WriteString(p.Hint)
	}
	return b.String()
}

// Problems are all that is wrong, in the order of the files.
type Problems []Problem

// Error prints one problem a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, q := range p {
		lines[i] = q.String()
	}
	return strings.Join(lines, "\n")
}

// Err returns the problems in order, nil where there are none.
func (p Problems) Err() error {
	if len(p) == 0 {
		return nil
	}
	slices.SortStableFunc(p, func(a, b Problem) int {
		if c := strings.Compare(a.File, b.File); c != 0 {
			return c
		}
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return p
}

// nearest is the word of words closest to s by edit distance, or "" where none is
// near enough to be a slip of the pen.
func nearest(s string, words []string) string {
	best, at := max(1, len(s)/3)+1, ""
	for _, w := range words {
		if d := distance(s, w); d < best {
			best, at = d, w
		}
	}
	return at
}

// distance is the number of insertions, deletions, replacements and swaps of
// neighbours from a to b.
func distance(a, b string) int {
	rows := make([][]int, len(a)+1)
	for i := range rows {
		rows[i] = make([]int, len(b)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			rows[i][j] = min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				rows[i][j] = min(rows[i][j], rows[i-2][j-2]+1)
			}
		}
	}
	return rows[len(a)][len(b)]
}

// DidYouMean is the hint that names the word nearest to s, "" where none is near.
func DidYouMean(s string, words []string) string {
	if n := nearest(s, words); n != "" {
		return fmt.Sprintf("did you mean %q?", n)
	}
	return ""
}
