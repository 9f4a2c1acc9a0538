package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"io/fs"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// pack writes the workbook so that the same content gives the same bytes.
func (b *book) pack(w io.Writer) error {
	b.properties()
	// the library keeps these in the order of a map
	kinds := b.f.ContentTypes.Defaults
	sort.Slice(kinds, func(i, j int) bool { return kinds[i].Extension < kinds[j].Extension })
	b.f.SetZipWriter(func(w io.Writer) excelize.ZipWriter { return &orderedZip{w: w, parts: map[string]*bytes.Buffer{}} })
	return b.f.Write(w)
}

// noDate is the earliest date of a zip archive, used for every part.
var noDate = time.Date(1980, time.January, 1, 0, 0, 0, 0, time.UTC)

// orderedZip collects the parts of an archive and writes them in a fixed order
// with a fixed date.
type orderedZip struct {
	w     io.Writer
	parts map[string]*bytes.Buffer
}

func (z *orderedZip) Create(name string) (io.Writer, error) {
	if _, twice := z.parts[name]; twice {
		return nil, errors.New("part " + name + " written twice")
	}
	z.parts[name] = new(bytes.Buffer)
	return z.parts[name], nil
}

func (z *orderedZip) AddFS(fs.FS) error { return errors.ErrUnsupported }

func (z *orderedZip) Close() error {
	rank := func(name string) int { // what says what the others are comes first
		switch name {
		case "[Content_Types].xml":
			return 0
		case "_rels/.rels":
			return 1
		}
		return 2
	}
	order := make([]string, 0, len(z.parts))
	for name := range z.parts {
		order = append(order, name)
	}
	slices.SortFunc(order, func(a, b string) int {
		if d := rank(a) - rank(b); d != 0 {
			return d
		}
		return strings.Compare(a, b)
	})
	zw := zip.NewWriter(z.w)
	for _, name := range order {
		w, err := zw.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: noDate})
		if err != nil {
			return err
		}
		if _, err := w.Write(z.parts[name].Bytes()); err != nil {
			return err
		}
	}
	return zw.Close()
}

// properties writes the document's properties: what it is and from when, and
// the program's name instead of a person's.
func (b *book) properties() {
	created := b.stamp.Created.UTC()
	if created.IsZero() {
		created = noDate
	}
	at := created.Format(time.RFC3339)
	var keywords []string
	for _, k := range b.doc.Keywords {
		keywords = append(keywords, oneLine(k))
	}
	core := element("dc:title", oneLine(b.doc.Title)) +
		element("dc:subject", oneLine(b.doc.Subject)) +
		element("dc:creator", "chestrise") +
		element("cp:keywords", strings.Join(keywords, ", ")) +
		element("dc:description", strings.Join(append(b.notices(), oneLine(b.whose())), " ")) +
		element("cp:lastModifiedBy", "chestrise") +
		`<dcterms:created xsi:type="dcterms:W3CDTF">` + at + `</dcterms:created>` +
		`<dcterms:modified xsi:type="dcterms:W3CDTF">` + at + `</dcterms:modified>`
	b.f.Pkg.Store("docProps/core.xml", []byte(xml.Header+
		`<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties"`+
		` xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/"`+
		` xmlns:dcmitype="http://purl.org/dc/dcmitype/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">`+
		core+`</cp:coreProperties>`))
	b.f.Pkg.Store("docProps/app.xml", []byte(xml.Header+
		`<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties">`+
		element("Application", "chestrise")+`</Properties>`))
}

// element is an XML element with a text; nothing where the text is empty.
func element(name, text string) string {
	if text == "" {
		return ""
	}
	return "<" + name + ">" + escapeXML(text) + "</" + name + ">"
}

func escapeXML(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		panic(err) // a strings.Builder takes everything
	}
	return b.String()
}
