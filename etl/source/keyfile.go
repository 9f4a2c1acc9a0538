package source

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"chestrise/etl/record"
)

// ErrKeyFile is the error of a key file that cannot be used. It never shows what
// the file holds.
var ErrKeyFile = errors.New("key file")

func keyError(path, format string, args ...any) error {
	return fmt.Errorf("%w %s: %s", ErrKeyFile, path, fmt.Sprintf(format, args...))
}

// KeyFile remembers which random key was drawn for which number of a source, so
// that the next delivery finds the same newborn. It is the only place where the
// two stand side by side: it lives in a folder of its own, readable by its owner
// alone, and is no part of the registry.
type KeyFile struct {
	path string
	keys map[string]record.Key
	used map[record.Key]bool
	next bool // there are keys that the file does not hold yet
}

// OpenKeyFile reads the key file of a source in a folder; a file that does not
// exist yet is empty. A file that others may read is refused.
func OpenKeyFile(folder, source string) (*KeyFile, error) {
	k := &KeyFile{path: filepath.Join(folder, source+".keys.csv"), keys: map[string]record.Key{}, used: map[record.Key]bool{}}
	if folder == "" {
		return nil, keyError(k.path, "no folder for key files is configured")
	}
	f, err := os.Open(k.path)
	if errors.Is(err, fs.ErrNotExist) {
		return k, nil
	}
	if err != nil {
		return nil, keyError(k.path, "%s", plain(err))
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return nil, keyError(k.path, "%s", plain(err))
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 {
		return nil, keyError(k.path, "others may read it (mode %04o)\nhint: chmod 600 %s", mode, k.path)
	}
	in := csv.NewReader(bufio.NewReader(f))
	in.FieldsPerRecord = 2
	for line := 1; ; line++ {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return k, nil
		}
		if err != nil {
			return nil, keyError(k.path, "line %d cannot be read", line)
		}
		if line == 1 {
			continue // the header
		}
		key, ok := ParseKey([]byte(row[1]))
		_, twice := k.keys[row[0]]
		if !ok || twice || k.used[key] {
			return nil, keyError(k.path, "line %d is not a number and a key of its own", line)
		}
		k.keys[row[0]], k.used[key] = key, true
	}
}

// Key returns the key of a number, drawing a new one (UUID version 4) where it
// has none.
func (k *KeyFile) Key(number string, random io.Reader) (record.Key, error) {
	if key, ok := k.keys[number]; ok {
		return key, nil
	}
	for {
		var key record.Key
		if random == nil {
			return key, keyError(k.path, "no source of random numbers was given")
		}
		if _, err := io.ReadFull(random, key[:]); err != nil {
			return key, keyError(k.path, "drawing a key: %v", err)
		}
		key[6], key[8] = key[6]&0x0F|0x40, key[8]&0x3F|0x80
		if k.used[key] {
			continue
		}
		k.keys[number], k.used[key], k.next = key, true, true
		return key, nil
	}
}

// Len is how many keys the file holds, drawn ones included.
func (k *KeyFile) Len() int { return len(k.keys) }

// Save writes the file anew where keys were drawn: whole or not at all.
func (k *KeyFile) Save() error {
	if !k.next {
		return nil
	}
	folder := filepath.Dir(k.path)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return keyError(k.path, "%s", plain(err))
	}
	f, err := os.CreateTemp(folder, "."+filepath.Base(k.path)+".*") // mode 0600
	if err != nil {
		return keyError(k.path, "%s", plain(err))
	}
	defer func() { _ = os.Remove(f.Name()) }()
	w := csv.NewWriter(f)
	rows := [][]string{{"number", "key"}}
	for number, key := range k.keys {
		rows = append(rows, []string{number, key.String()})
	}
	slices.SortFunc(rows[1:], func(a, b []string) int { return strings.Compare(a[0], b[0]) })
	err = errors.Join(w.WriteAll(rows), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), k.path)
	}
	if err == nil {
		err = syncFolder(folder)
	}
	if err != nil {
		return keyError(k.path, "%s", strings.TrimSpace(plain(err)))
	}
	k.next = false
	return nil
}

func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
