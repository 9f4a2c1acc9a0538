package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"
)

// DefaultDir returns the data folder of the cluster called name (empty means
// "registry") for the user of this process: under /var/lib/chestrise for root
// (whose home is closed to the server's user), else under chestrise in the
// folder for state, XDG_STATE_HOME or ~/.local/state.
func DefaultDir(name string) (string, error) {
	if name == "" {
		name = "registry"
	}
	if name != filepath.Base(name) || strings.HasPrefix(name, ".") {
		return "", fmt.Errorf("cluster name %q is not a plain folder name", name)
	}
	if os.Geteuid() == 0 {
		return filepath.Join("/var/lib/chestrise", name), nil
	}
	state := os.Getenv("XDG_STATE_HOME")
	if !filepath.IsAbs(state) { // relative ones are to be ignored (XDG Base Directory Specification 0.8)
		home, err := os.UserHomeDir()
		if err != nil || home == "" {
			return "", fmt.Errorf("neither XDG_STATE_HOME nor HOME is set%s", hint("name a data folder"))
		}
		state = filepath.Join(home, ".local", "state")
	}
	return filepath.Join(state, "chestrise", name), nil
}

// prepareFolder makes dir when absent and returns its path without symbolic
// links. A folder that belongs to someone else is refused: its owner could
// replace the cluster under the server's feet.
func prepareFolder(dir string) (string, error) {
	if strings.ContainsFunc(dir, unicode.IsControl) {
		return "", fmt.Errorf("data folder %q: control characters are not possible in its path", dir)
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	mode := fs.FileMode(0o700)
	if os.Geteuid() == 0 {
		mode = 0o711 // the server's user passes through, and cannot list
	}
	if err := makeFolders(dir, mode); err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	if dir, err = filepath.EvalSymlinks(dir); err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	uid, err := ownerOf(dir)
	if err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	if int(uid) != os.Geteuid() {
		return "", foreignFolder(dir, uid)
	}
	return dir, nil
}

// makeFolders makes dir and its missing parents, each with exactly mode
// whatever the umask says.
func makeFolders(dir string, mode fs.FileMode) error {
	st, err := os.Stat(dir)
	if err == nil {
		if !st.IsDir() {
			return fmt.Errorf("%s is not a folder", dir)
		}
		return nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := makeFolders(filepath.Dir(dir), mode); err != nil {
		return err
	}
	switch err := os.Mkdir(dir, mode); {
	case errors.Is(err, fs.ErrExist): // another process was quicker
		return nil
	case err != nil:
		return err
	}
	return os.Chmod(dir, mode)
}

// syncFolder makes the names in dir durable.
func syncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	return errors.Join(err, f.Close())
}
