// Command hold runs a command while holding a lease on the test cluster, so
// that the tests of many packages share one server that starts and stops once:
//
//	go run ./sql/localpg/pgtest/hold go test ./...
//
// It ends with the command's exit code.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"syscall"

	"chestrise/sql/localpg/pgtest"
)

func main() {
	code, err := hold(os.Args[1:])
	if err != nil {
		fmt.Fprintln(os.Stderr, "hold:", err)
	}
	os.Exit(code) //nolint:forbidigo // this is a main package, though not under cmd
}

// hold runs the command line args and returns its exit code, 1 if the server
// cannot be had or stopped, 2 if there is none.
func hold(args []string) (int, error) {
	if len(args) > 0 && args[0] == "--" {
		args = args[1:]
	}
	if len(args) == 0 {
		return 2, errors.New("no command to run was given")
	}
	// An interrupt ends the waiting for the server; later on it is passed to
	// the command, and the lease is given back after the command's end.
	signals := make(chan os.Signal, 4)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	started := make(chan *os.Process, 1)
	go pass(signals, started, cancel)

	lease, err := pgtest.Acquire(ctx)
	if err != nil {
		return 1, err
	}
	code, err := run(args, started)
	if stop := lease.Release(); stop != nil {
		return max(code, 1), errors.Join(err, stop)
	}
	return code, err
}

// pass hands signals to the command once it runs, and cancels before.
func pass(signals <-chan os.Signal, started <-chan *os.Process, cancel func()) {
	var child *os.Process
	for {
		select {
		case child = <-started:
		case s := <-signals:
			if child == nil {
				cancel()
			} else {
				_ = child.Signal(s) // it may have ended
			}
		}
	}
}

func run(args []string, started chan<- *os.Process) (int, error) {
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	cmd.Env = append(os.Environ(), pgtest.Variable+"="+pgtest.Dir())
	if err := cmd.Start(); err != nil {
		return 1, err
	}
	started <- cmd.Process
	err := cmd.Wait()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		return max(exit.ExitCode(), 1), nil // -1: ended by a signal
	}
	if err != nil {
		return 1, err
	}
	return 0, nil
}
