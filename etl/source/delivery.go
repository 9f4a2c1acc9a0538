// Package source reads deliveries: a folder with a manifest and the files it
// announces, in the shape of the contract or in a shape of the source's own
// that a map translates. It decides what refuses a whole file; single rows and
// values it hands on as they are.
//
// A delivery is read twice. The survey reads every byte: hashes, row counts,
// encodings, headers, sort order, and what can only be seen across rows. Only
// then are the rows handed out, and their hash is checked once more at the end.
// Memory does not depend on the length of the files, except that the rows of a
// mapped file, whose keys are not the file's and must be sorted, are kept.
package source

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// Delivery is an opened delivery.
type Delivery struct {
	Manifest record.Delivery
	folder   string
	files    map[string]*os.File
	mapped   *mapped // nil: the files are in the shape of the contract
}

// Open opens the files that the manifest announces. Problems come back all at
// once; then nothing stays open.
func Open(folder string, manifest record.Delivery) (*Delivery, []record.Problem) {
	d := &Delivery{Manifest: manifest, folder: folder, files: map[string]*os.File{}}
	problems := d.open([]string{NewbornsName, EventsName}, []string{BirthsName})
	if problems != nil {
		_ = d.Close()
		return nil, problems
	}
	return d, nil
}

func (d *Delivery) open(required, optional []string) []record.Problem {
	var problems []record.Problem
	for _, name := range required {
		if _, ok := d.announced(name); !ok {
			problems = append(problems, record.Problem{Rule: rule.FileMissing, File: ManifestName, Message: "the manifest does not announce " + name})
		}
	}
	for _, f := range d.Manifest.Files {
		if !slices.Contains(required, f.Name) && !slices.Contains(optional, f.Name) {
			problems = append(problems, record.Problem{
				Rule: rule.FileNotAnnounced, File: f.Name, Message: "a delivery of this source has no file of this name",
				Hint: "the files are " + strings.Join(append(slices.Clone(required), optional...), ", "),
			})
			continue
		}
		file, err := os.Open(filepath.Join(d.folder, f.Name))
		switch {
		case errors.Is(err, os.ErrNotExist):
			problems = append(problems, record.Problem{Rule: rule.FileMissing, File: f.Name, Message: "the manifest announces the file, it is not there", Hint: "the source writes the manifest last"})
		case err != nil:
			problems = append(problems, record.Problem{Rule: rule.FileUnreadable, File: f.Name, Message: plain(err)})
		default:
			d.files[f.Name] = file
		}
	}
	stray, err := filepath.Glob(filepath.Join(d.folder, "*.csv"))
	if err != nil {
		return append(problems, record.Problem{Rule: rule.FileUnreadable, Message: plain(err)})
	}
	for _, path := range stray {
		if _, ok := d.announced(filepath.Base(path)); !ok {
			problems = append(problems, record.Problem{Rule: rule.FileNotAnnounced, File: filepath.Base(path), Message: "the manifest does not announce the file"})
		}
	}
	return problems
}

// Close closes the files.
func (d *Delivery) Close() error {
	var errs []error
	for _, f := range d.files {
		errs = append(errs, f.Close())
	}
	return errors.Join(errs...)
}

func (d *Delivery) announced(name string) (record.File, bool) {
	i := slices.IndexFunc(d.Manifest.Files, func(f record.File) bool { return f.Name == name })
	if i < 0 {
		return record.File{}, false
	}
	return d.Manifest.Files[i], true
}

// Names are the files that hold newborns, events and births; "" where the
// delivery has none.
func (d *Delivery) Names() (newborns, events, births string) {
	if d.mapped != nil {
		newborns = d.mapped.file
	} else {
		newborns, events = NewbornsName, EventsName
	}
	if _, ok := d.files[BirthsName]; ok {
		births = BirthsName
	}
	return newborns, events, births
}

// Newborns returns the newborn rows, sorted by unit and key.
func (d *Delivery) Newborns() (Rows, error) {
	if d.mapped != nil {
		return d.mapped.rows(), nil
	}
	return d.table(NewbornsName, NewbornColumns(d.Manifest.Privacy))
}

// Events returns the event rows, sorted by unit, key and time.
func (d *Delivery) Events() (Rows, error) {
	if d.mapped != nil {
		return none{}, nil
	}
	return d.table(EventsName, EventColumns())
}

// Births returns the rows of births.csv.
func (d *Delivery) Births() (Rows, error) {
	if _, ok := d.files[BirthsName]; !ok {
		return none{}, nil
	}
	return d.table(BirthsName, BirthsColumns(d.Manifest.Privacy))
}

func (d *Delivery) table(name string, columns []string) (Rows, error) {
	in, err := d.rewind(name)
	if err != nil {
		return nil, err
	}
	t, problems := newTable(name, in, columns, nil)
	if problems != nil {
		return nil, problems[0]
	}
	return &checked{table: t, in: in}, nil
}

// rewind starts a file from its beginning, hashing what is read.
func (d *Delivery) rewind(name string) (*hashed, error) {
	f := d.files[name]
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, record.Problem{Rule: rule.FileUnreadable, File: name, Message: plain(err)}
	}
	want, _ := d.announced(name)
	return &hashed{in: f, sum: sha256.New(), want: want.SHA256}, nil
}

// hashed hashes what is read through it.
type hashed struct {
	in   io.Reader
	sum  hash.Hash
	want [sha256.Size]byte
}

func (h *hashed) Read(p []byte) (int, error) {
	n, err := h.in.Read(p)
	h.sum.Write(p[:n])
	return n, err
}

// matches reads what is left and compares the hash with the manifest's.
func (h *hashed) matches() (bool, error) {
	if _, err := io.Copy(io.Discard, h); err != nil {
		return false, err
	}
	return [sha256.Size]byte(h.sum.Sum(nil)) == h.want, nil
}

// checked checks at the end of the rows that the file is still the one that
// was surveyed.
type checked struct {
	*table
	in *hashed
}

// Next implements Rows.
func (c *checked) Next() (*Row, error) {
	row, err := c.table.Next()
	if !errors.Is(err, io.EOF) {
		return row, err
	}
	if ok, err := c.in.matches(); err != nil || !ok {
		return nil, record.Problem{Rule: rule.FileChanged, File: c.name, Message: "the file changed while it was read", Hint: "deliver it again under the next sequence"}
	}
	return nil, io.EOF
}

type none struct{}

func (none) Next() (*Row, error) { return nil, io.EOF }
func (none) Column(int) int      { return 0 }

func hashProblem(name string, sum [sha256.Size]byte) record.Problem {
	return record.Problem{
		Rule: rule.FileHash, File: name, Message: "SHA-256 is " + hex.EncodeToString(sum[:]) + ", the manifest says otherwise",
		Hint: "the file was cut short or changed on its way: deliver it again",
	}
}

func rowsProblem(name string, have, want int64) record.Problem {
	return record.Problem{
		Rule: rule.FileRows, File: name, Message: fmt.Sprintf("the file has %d rows, the manifest announces %d", have, want),
		Hint: "the header and blank lines are not counted",
	}
}
