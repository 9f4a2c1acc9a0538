package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
)

// account is the operating system user that the server runs as.
type account struct {
	uid, gid uint32
	name     string
}

// serverAccount chooses the server's user. An ordinary user runs it as
// itself. Root may not run a server, so root takes the owner of an existing
// cluster, else the user that Debian's server packages make, else nobody.
func serverAccount(data string) (account, error) {
	euid := os.Geteuid()
	if euid != 0 {
		a, err := lookup(strconv.Itoa(euid), user.LookupId)
		if err != nil {
			return account{}, fmt.Errorf("user number %d has no name on this machine, and PostgreSQL needs one%s",
				euid, hint("add the user to /etc/passwd, or run as a user that is listed there"))
		}
		return a, nil
	}
	var found []account
	for _, name := range []string{"postgres", "nobody"} {
		if a, err := lookupName(name); err == nil && a.uid != 0 {
			found = append(found, a)
		}
	}
	if len(found) == 0 {
		return account{}, fmt.Errorf("a server may not run as root, and neither user postgres nor nobody exists%s",
			hint("apt-get install postgresql adds user postgres"))
	}
	uid, err := ownerOf(data)
	if errors.Is(err, fs.ErrNotExist) {
		return found[0], nil
	}
	if err != nil {
		return account{}, err
	}
	for _, a := range found {
		if a.uid == uid {
			return a, nil
		}
	}
	return account{}, foreignFolder(data, uid)
}

func lookupName(name string) (account, error) { return lookup(name, user.Lookup) }

func lookup(key string, by func(string) (*user.User, error)) (account, error) {
	u, err := by(key)
	if err != nil {
		return account{}, err
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return account{}, err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	if err != nil {
		return account{}, err
	}
	return account{uid: uint32(uid), gid: uint32(gid), name: u.Username}, nil
}

// self tells whether the server runs as the user of this process.
func (a account) self() bool { return int(a.uid) == os.Geteuid() }

// credential is what a child process needs to run as the account; nil when
// it does anyway. Supplementary groups are dropped.
func (a account) credential() *syscall.Credential {
	if a.self() {
		return nil
	}
	return &syscall.Credential{Uid: a.uid, Gid: a.gid}
}

// see runs f with the account's rights to files and /proc. Root in a
// container often lacks the capability to look into another user's process,
// and root's own rights say nothing about whether the account can reach a
// folder. The rights are those of one thread, which ends with f.
func (a account) see(f func()) {
	if a.self() {
		f()
		return
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		runtime.LockOSThread() // never unlocked: the thread must not be reused
		_, _, _ = syscall.RawSyscall(syscall.SYS_SETGROUPS, 0, 0, 0)
		_ = syscall.Setfsgid(int(a.gid))
		_ = syscall.Setfsuid(int(a.uid))
		f()
	}()
	<-done
}

// reaches reports the first folder on the way to dir, dir included, that the
// account may not pass through. Started from such a place, a server fails
// with a permission error that names its program instead of the folder.
func (a account) reaches(dir string) error {
	var blocked string
	a.see(func() {
		for up := dir; ; up = filepath.Dir(up) {
			// "." inside a folder is found only with the right to enter it.
			if _, err := os.Stat(up + "/."); errors.Is(err, fs.ErrPermission) {
				blocked = up // the highest one is the cause
			}
			if up == filepath.Dir(up) {
				return
			}
		}
	})
	if blocked == "" {
		return nil
	}
	return fmt.Errorf("user %s, who runs the server, may not pass through %s on the way to %s%s",
		a.name, blocked, dir, hint("chmod o+x %s, or choose another data folder", blocked))
}

func ownerOf(path string) (uint32, error) {
	st, err := os.Lstat(path)
	if err != nil {
		return 0, err
	}
	sys, ok := st.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, fmt.Errorf("%s: the file system does not tell the owner", path)
	}
	return sys.Uid, nil
}

func foreignFolder(path string, uid uint32) error {
	name := "user number " + strconv.FormatUint(uint64(uid), 10)
	if u, err := user.LookupId(strconv.FormatUint(uint64(uid), 10)); err == nil {
		name = u.Username
	}
	return fmt.Errorf("%s belongs to %s, not to the user of this process%s",
		path, name, hint("run as %s, or choose another data folder", name))
}
