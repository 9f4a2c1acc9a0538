package reports

import (
	"io"
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

// Renderer writes a Document as one file. The bytes depend on its arguments
// alone.
type Renderer interface {
	Render(w io.Writer, d *Document, s Stamp) error
	Ext() string // ".pdf"
}
