package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"syscall"
	"time"
)

// flock is an advisory lock on a file. The kernel drops it when the process
// dies. The file is opened close-on-exec, so the server never inherits it.
type flock struct{ f *os.File }

func openLock(path string) (*flock, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|syscall.O_NOFOLLOW, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock file: %w", err)
	}
	return &flock{f}, nil
}

// try takes the lock in the given mode if that needs no waiting. Changing
// from shared to exclusive may lose the shared lock when it fails, which is
// harmless for a holder about to leave that also holds start.lock.
func (l *flock) try(how int) (bool, error) {
	for {
		err := syscall.Flock(int(l.f.Fd()), how|syscall.LOCK_NB)
		switch {
		case err == nil:
			return true, nil
		case errors.Is(err, syscall.EWOULDBLOCK):
			return false, nil
		case errors.Is(err, syscall.EINTR):
			continue
		}
		return false, fmt.Errorf("lock %s: %w", l.f.Name(), err)
	}
}

// wait takes the lock in the given mode. It polls, because a blocking flock
// cannot be ended by a context.
func (l *flock) wait(ctx context.Context, how int) error {
	for {
		if got, err := l.try(how); err != nil || got {
			return err
		}
		if err := pause(ctx, 20*time.Millisecond); err != nil {
			return err
		}
	}
}

// close unlocks before closing: a child between fork and exec still shares
// the descriptor for an instant and would keep a merely closed lock alive.
func (l *flock) close() {
	_ = syscall.Flock(int(l.f.Fd()), syscall.LOCK_UN)
	_ = l.f.Close()
}
