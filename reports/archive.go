package reports

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"

	"chestrise/etl/record"
	"chestrise/reports/issue"
)

// Archive remembers what was issued.
type Archive interface {
	// Plan gives the next number for a report whose model differs from the last
	// published issue's, and remembers its figures. It answers false where the
	// model is the one that was published last: nothing is due. A number that
	// was planned and never published is given again.
	Plan(ctx context.Context, k issue.Key, model [32]byte, generation record.Generation, cells []issue.Cell) (issue.Issue, bool, error)
	// Published marks an issue as published with these files.
	Published(ctx context.Context, k issue.Key, no int, files []issue.File) error
	// Last returns the last published issue and its figures; number 0: none.
	Last(ctx context.Context, k issue.Key) (issue.Issue, []issue.Cell, error)
}

// Publisher writes issues: numbered folders that are never rewritten, and a
// current.json that is swapped last.
//
//  1. plan: the archive gives a number, or says that nothing changed;
//  2. render every file into a hidden folder beside the final one, and sync it;
//  3. rename the folder;
//  4. published: the archive is told the files and their hashes;
//  5. current.json is replaced.
//
// After a crash the next night plans the same number again and starts at 2.
type Publisher struct {
	Root      string
	Archive   Archive
	Renderers []Renderer
}

// Job is a report to be issued.
type Job struct {
	Key      issue.Key
	Name     string // base name of the files
	Document *Document
	Stamp    Stamp // its Issue and Replaces are filled in here
	Cells    []issue.Cell
	Extra    []Extra
}

// Extra is a further file of an issue, such as a chart as SVG. Its name may
// hold a folder.
type Extra struct {
	Name   string
	Render func(w io.Writer) error
}

// Current is what current.json says.
type Current struct {
	Kind       string        `json:"kind"`
	Unit       string        `json:"unit"`
	Period     string        `json:"period"`
	Issue      int           `json:"issue"`
	Replaces   int           `json:"replaces,omitempty"`
	Generation int64         `json:"generation"`
	Folder     string        `json:"folder"`
	Files      []CurrentFile `json:"files"`
}

// CurrentFile is a file of the current issue.
type CurrentFile struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Bytes  int64  `json:"bytes"`
}

// Publish issues a report. It returns the current issue and whether it is new.
// On an error nothing of the new issue can be seen.
func (p *Publisher) Publish(ctx context.Context, j Job) (Current, bool, error) {
	model, err := Digest(j.Document)
	if err != nil {
		return Current{}, false, err
	}
	planned, due, err := p.Archive.Plan(ctx, j.Key, model, record.Generation(j.Stamp.Generation), j.Cells)
	if err != nil {
		return Current{}, false, fmt.Errorf("plan %s: %w", name(j.Key), err)
	}
	home := filepath.Join(p.Root, j.Key.Kind, j.Key.Unit, j.Key.Period)
	if !due && p.complete(home, planned) {
		return p.current(j.Key, planned), false, p.point(home, p.current(j.Key, planned))
	}
	j.Stamp.Issue, j.Stamp.Replaces = planned.No, planned.Replaces
	if !due { // published before, but its folder is gone: the same issue again
		j.Stamp.Generation = int64(planned.Generation)
	}
	files, err := p.write(ctx, home, planned.No, j)
	if err != nil {
		return Current{}, false, fmt.Errorf("issue %d of %s: %w", planned.No, name(j.Key), err)
	}
	if err := p.Archive.Published(ctx, j.Key, planned.No, files); err != nil {
		return Current{}, false, fmt.Errorf("issue %d of %s: %w", planned.No, name(j.Key), err)
	}
	planned.Files = files
	c := p.current(j.Key, planned)
	return c, due, p.point(home, c)
}

func name(k issue.Key) string { return k.Kind + " of " + k.Unit + " for " + k.Period }

func folder(no int) string { return fmt.Sprintf("issue-%03d", no) }

// complete says whether every file of a published issue is there.
func (p *Publisher) complete(home string, i issue.Issue) bool {
	for _, f := range i.Files {
		info, err := os.Stat(filepath.Join(home, folder(i.No), filepath.FromSlash(f.Name)))
		if err != nil || info.Size() != f.Bytes {
			return false
		}
	}
	return len(i.Files) > 0
}

func (p *Publisher) current(k issue.Key, i issue.Issue) Current {
	c := Current{
		Kind: k.Kind, Unit: k.Unit, Period: k.Period, Issue: i.No, Replaces: i.Replaces,
		Generation: int64(i.Generation), Folder: folder(i.No),
	}
	for _, f := range i.Files {
		c.Files = append(c.Files, CurrentFile{Name: f.Name, SHA256: fmt.Sprintf("%x", f.SHA256), Bytes: f.Bytes})
	}
	return c
}

// write renders every file of an issue and moves the folder into place.
func (p *Publisher) write(ctx context.Context, home string, no int, j Job) ([]issue.File, error) {
	final := filepath.Join(home, folder(no))
	part := filepath.Join(home, "."+folder(no)+".part")
	if err := os.RemoveAll(part); err != nil {
		return nil, err
	}
	defer os.RemoveAll(part)
	if err := os.MkdirAll(part, 0o750); err != nil {
		return nil, err
	}
	var files []issue.File
	save := func(name string, render func(io.Writer) error) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		f, err := save(part, name, render)
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		files = append(files, f)
		return nil
	}
	for _, r := range p.Renderers {
		err := save(j.Name+r.Ext(), func(w io.Writer) error { return r.Render(w, j.Document, j.Stamp) })
		if err != nil {
			return nil, err
		}
	}
	for _, x := range j.Extra {
		if err := save(x.Name, x.Render); err != nil {
			return nil, err
		}
	}
	if err := syncDir(part); err != nil {
		return nil, err
	}
	if err := os.RemoveAll(final); err != nil { // planned before, never published
		return nil, err
	}
	if err := os.Rename(part, final); err != nil {
		return nil, err
	}
	sort.Slice(files, func(a, b int) bool { return files[a].Name < files[b].Name })
	return files, syncDir(home)
}

func save(dir, name string, render func(io.Writer) error) (issue.File, error) {
	var buf bytes.Buffer
	if err := render(&buf); err != nil {
		return issue.File{}, err
	}
	path := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
		return issue.File{}, err
	}
	if err := writeSynced(path, buf.Bytes()); err != nil {
		return issue.File{}, err
	}
	return issue.File{Name: name, SHA256: sha256.Sum256(buf.Bytes()), Bytes: int64(buf.Len())}, nil
}

// point replaces current.json, unless it says the same already.
func (p *Publisher) point(home string, c Current) error {
	text, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return err
	}
	return WriteFile(filepath.Join(home, "current.json"), append(text, '\n'))
}

// WriteFile puts a whole file into place: written beside it, synced, renamed.
// A file that holds the same bytes already is left alone.
func WriteFile(path string, content []byte) error {
	if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, content) {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
		return err
	}
	part := path + ".part"
	if err := writeSynced(part, content); err != nil {
		return err
	}
	if err := os.Rename(part, path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

func writeSynced(path string, content []byte) (err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o640)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if _, err := f.Write(content); err != nil {
		return err
	}
	return f.Sync()
}

func syncDir(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Digest is the hash of a document without its stamp and without the sections
// that compare it with the last issue: two nights with the same digest show the
// same.
func Digest(d *Document) ([32]byte, error) {
	type block struct {
		Type  string
		Block Block
	}
	h := sha256.New()
	e := json.NewEncoder(h)
	head := *d
	head.Sections = nil
	if err := e.Encode(head); err != nil {
		return [32]byte{}, fmt.Errorf("digest of a document: %w", err)
	}
	for _, s := range d.Sections {
		if s.SinceLast {
			continue
		}
		blocks := make([]block, len(s.Blocks))
		for i, b := range s.Blocks {
			blocks[i] = block{fmt.Sprintf("%T", b), b}
		}
		s.Blocks = nil
		if err := errors.Join(e.Encode(s), e.Encode(blocks)); err != nil {
			return [32]byte{}, fmt.Errorf("digest of section %s: %w", s.ID, err)
		}
	}
	return [32]byte(h.Sum(nil)), nil
}
