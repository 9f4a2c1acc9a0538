package casereview

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"chestrise/reports"
	"chestrise/reports/svg"
)

// Save writes the packet into a folder of its own: packet with the ending of each
// renderer, outline.txt, and every figure as figures/NAME.svg. Everything is
// rendered before anything is written; each file appears whole or not at all.
// Folders have mode 0750 and files 0640, whatever they had before.
func (p *Packet) Save(dir string, s reports.Stamp, renderers ...reports.Renderer) ([]string, error) {
	type file struct {
		name    string
		content []byte
	}
	var files []file
	for _, r := range renderers {
		var b bytes.Buffer
		if err := r.Render(&b, p.Document, s); err != nil {
			return nil, err
		}
		files = append(files, file{"packet" + r.Ext(), b.Bytes()})
	}
	files = append(files, file{"outline.txt", []byte(p.Outline)})
	for _, f := range p.Figures {
		var b bytes.Buffer
		if err := svg.Write(&b, f.Drawing); err != nil {
			return nil, fmt.Errorf("figure %s: %w", f.Name, err)
		}
		files = append(files, file{filepath.Join("figures", f.Name+".svg"), b.Bytes()})
	}
	for _, d := range []string{dir, filepath.Join(dir, "figures")} {
		if err := os.MkdirAll(d, 0o750); err != nil {
			return nil, err
		}
		if err := os.Chmod(d, 0o750); err != nil {
			return nil, err
		}
	}
	var names []string
	for _, f := range files {
		path := filepath.Join(dir, f.name)
		if err := reports.WriteFile(path, f.content); err != nil {
			return names, err
		}
		if err := os.Chmod(path, 0o640); err != nil {
			return names, err
		}
		names = append(names, f.name)
	}
	return names, nil
}
