package reports

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// Stamp is what a rendered file says about itself. It holds nothing that
// differs between two runs over the same registry, configuration and program.
type Stamp struct {
	Created    time.Time // when the source extracted the data, not when we ran
	Generation int64     // version of the registry
	Issue      int       // number of this issue; 0: not an archived issue
	Replaces   int       // number of the issue that this one replaces; 0: none
	Program    string    // version of the program
	Catalogue  string    // version of the measure definitions
	Edition    string    // guideline edition in force
	Coverage   string    // what the source sends
	Synthetic  bool
}

// Words says in short parts from what and by what a file was made, for a line
// at its foot. What is unknown is left out.
func (s Stamp) Words() []string {
	var out []string
	if s.Issue > 0 {
		w := fmt.Sprintf("issue %d", s.Issue)
		if s.Replaces > 0 {
			w += fmt.Sprintf(", replaces issue %d", s.Replaces)
		}
		out = append(out, w)
	}
	if s.Generation > 0 {
		out = append(out, fmt.Sprintf("registry generation %d", s.Generation))
	}
	if !s.Created.IsZero() {
		out = append(out, "data as sent on "+s.Created.UTC().Format("2006-01-02"))
	}
	for _, w := range [][2]string{
		{"coverage: ", s.Coverage}, {"measure definitions ", s.Catalogue}, {"guideline edition ", s.Edition}, {"chestrise ", s.Program},
	} {
		if w[1] != "" {
			out = append(out, w[0]+w[1])
		}
	}
	return out
}

// Foot is the line beneath a chart that stands alone; empty for an empty stamp.
func (s Stamp) Foot() string {
	words := s.Words()
	if s.Synthetic {
		words = append([]string{"Synthetic data"}, words...)
	}
	return strings.Join(words, " · ")
}

// Renderer writes a Document as one file. The bytes depend on its arguments
// alone.
type Renderer interface {
	Render(w io.Writer, d *Document, s Stamp) error
	Ext() string // ".pdf"
}
