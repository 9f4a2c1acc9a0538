package etl

import (
	"cmp"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"chestrise/etl/record"
	"chestrise/etl/source"
)

// found is a delivery folder with its manifest as far as it could be read.
type found struct {
	folder   string // below the inbox
	path     string
	manifest record.Delivery
	problems []record.Problem
}

func (f *found) outcome(s State) Outcome {
	return Outcome{Folder: f.folder, Source: f.manifest.Source, Sequence: f.manifest.Sequence, Synthetic: f.manifest.Synthetic, State: s}
}

// discover finds the delivery folders of an inbox and reads their manifests. A
// folder with a manifest is a delivery; so is a folder with CSV files and
// without a manifest, which will be refused for it. Names that begin with a dot
// or end in .part are still being written and not looked at. The deliveries
// come in the order of source and sequence, those without a readable one last.
func discover(inbox string) (deliveries []found, stray []string, err error) {
	err = filepath.WalkDir(inbox, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if !entry.IsDir() {
			return nil
		}
		if name := entry.Name(); path != inbox && (strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".part")) {
			return filepath.SkipDir
		}
		folder, err := filepath.Rel(inbox, path)
		if err != nil {
			return err
		}
		_, missing := os.Stat(filepath.Join(path, source.ManifestName))
		loose, err := filepath.Glob(filepath.Join(path, "*.csv"))
		if err != nil {
			return err
		}
		if missing != nil && path == inbox {
			for _, file := range loose {
				stray = append(stray, filepath.Base(file))
			}
			return nil
		}
		if missing != nil && len(loose) == 0 {
			return nil
		}
		f := found{folder: folder, path: path}
		f.manifest, f.problems = source.ReadManifest(path)
		deliveries = append(deliveries, f)
		return filepath.SkipDir
	})
	slices.SortStableFunc(deliveries, func(a, b found) int {
		unread := func(f found) int {
			if f.manifest.Source == "" || f.manifest.Sequence == 0 {
				return 1
			}
			return 0
		}
		return cmp.Or(
			cmp.Compare(unread(a), unread(b)),
			strings.Compare(a.manifest.Source, b.manifest.Source),
			cmp.Compare(a.manifest.Sequence, b.manifest.Sequence),
			strings.Compare(a.folder, b.folder),
		)
	})
	return deliveries, stray, err
}
