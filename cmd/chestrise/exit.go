package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"chestrise/etl/record"
)

// The exit codes. They are an interface: schedulers and people at two in the
// morning act on them.
const (
	exitDone        = 0
	exitFailed      = 1   // nothing was published
	exitUsage       = 2   // the command line is wrong
	exitIncomplete  = 3   // published, but a source is missing, a delivery was refused, or too many rows are held
	exitConfig      = 10  // configuration or definitions are invalid
	exitLocked      = 11  // another run holds the lock
	exitRegistry    = 12  // the registry cannot be reached, or its schema is behind
	exitInterrupted = 130 // stopped by a signal
)

var exitMeanings = [][2]string{
	{"0", "done; the counts are printed"},
	{"1", "failed; nothing was published"},
	{"2", "the command line is wrong"},
	{"3", "published, but a source is missing, a delivery was refused, or too many rows are held back"},
	{"10", "the configuration or a definition is invalid"},
	{"11", "another run holds the lock"},
	{"12", "the registry cannot be reached, or its schema is behind this program"},
	{"130", "interrupted"},
}

// exitError is an error that knows its exit code.
type exitError struct {
	code int
	err  error
}

func (e *exitError) Error() string { return e.err.Error() }
func (e *exitError) Unwrap() error { return e.err }

func withCode(code int, err error) error {
	if err == nil {
		return nil
	}
	return &exitError{code, err}
}

func usage(format string, args ...any) error {
	return &exitError{exitUsage, fmt.Errorf(format, args...)}
}

// report prints an error once, with the program's name, and returns the code.
func report(ctx context.Context, w io.Writer, err error) int {
	if err == nil {
		return exitDone
	}
	code := exitFailed
	var e *exitError
	switch {
	case ctx.Err() != nil && errors.Is(err, context.Canceled):
		code = exitInterrupted
	case errors.Is(err, record.ErrLocked):
		code = exitLocked
	case errors.Is(err, record.ErrSchemaBehind):
		code = exitRegistry
	case errors.As(err, &e):
		code = e.code
	}
	for i, line := range strings.Split(strings.TrimRight(err.Error(), "\n"), "\n") {
		if i == 0 {
			line = "chestrise: " + line
		}
		fmt.Fprintln(w, line)
	}
	return code
}
