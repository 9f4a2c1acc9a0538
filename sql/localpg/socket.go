package localpg

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// port is part of the socket's name; nothing listens on a network.
const port = 5432

// longest path that fits sockaddr_un.sun_path on Linux beside its final NUL.
const longestSocket = 107

func socketPath(dir string, port int) string {
	return filepath.Join(dir, ".s.PGSQL."+strconv.Itoa(port))
}

// socketDir makes the folder of the socket, for the starting process only:
// the others read it from the running server's pid file.
//
// The data folder's own run/ is best: a service with a private /tmp and an
// analyst's shell both see it, no logout removes it and nobody else can have
// made it. Where its path is too long for a socket, a folder with a short
// name made from a hash of the data folder is put into a runtime folder, and
// into /tmp last.
func (c *cluster) socketDir() (string, error) {
	sum := sha256.Sum256([]byte(c.dir))
	short := "chestrise-" + hex.EncodeToString(sum[:5])
	candidates := []string{filepath.Join(c.dir, "run")}
	if list := os.Getenv("RUNTIME_DIRECTORY"); list != "" { // systemd's RuntimeDirectory=
		first, _, _ := strings.Cut(list, ":")
		candidates = append(candidates, filepath.Join(first, short))
	}
	if os.Geteuid() == 0 {
		candidates = append(candidates, filepath.Join("/run/chestrise", short))
	} else if dir := os.Getenv("XDG_RUNTIME_DIR"); dir != "" {
		candidates = append(candidates, filepath.Join(dir, short))
	}
	candidates = append(candidates, filepath.Join("/tmp", short))

	var reasons []error
	for _, dir := range candidates {
		err := c.claimSocketDir(dir)
		if err == nil {
			return dir, nil
		}
		reasons = append(reasons, err)
	}
	return "", fmt.Errorf("no folder for the server's socket:\n%w", errors.Join(reasons...))
}

// claimSocketDir makes dir, or takes it over from an earlier run, so that only
// the server's user (and root) can enter it. In a folder like /tmp somebody
// else may have made it first: owner and mode are checked, links refused.
func (c *cluster) claimSocketDir(dir string) error {
	if p := socketPath(dir, port) + ".lock"; len(p) > longestSocket {
		return fmt.Errorf("%s: too long for a socket", dir)
	}
	if !filepath.IsAbs(dir) || strings.ContainsAny(dir, `",`+"\n") {
		return fmt.Errorf("%s: not usable in the server's settings", dir)
	}
	if dir == filepath.Join("/run/chestrise", filepath.Base(dir)) {
		if err := makeFolders(filepath.Dir(dir), 0o711); err != nil {
			return err
		}
	}
	if err := c.as.reaches(filepath.Dir(dir)); err != nil {
		return err
	}
	switch err := os.Mkdir(dir, 0o700); {
	case err == nil:
		if err := os.Chmod(dir, 0o700); err != nil {
			return err
		}
		if err := c.give(dir); err != nil {
			return err
		}
	case !errors.Is(err, fs.ErrExist):
		return err
	}
	st, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok || !st.IsDir() || sys.Uid != c.as.uid || st.Mode().Perm() != 0o700 {
		return fmt.Errorf("%s: exists and is not a folder that only user %s can enter", dir, c.as.name)
	}
	return nil
}
