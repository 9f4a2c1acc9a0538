// Command chestrise runs the nightly job and its parts: load what the sources
// delivered, work out the measures, issue the reports. One file a subcommand.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"
	_ "time/tzdata" // bare machines lack zone data
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], streams{out: os.Stdout, err: os.Stderr}, time.Now)
	stop()
	os.Exit(code)
}

type streams struct{ out, err io.Writer }

// run is main without the process: arguments and streams in, exit code out. A
// panic is an exit code too: what was being written is not published.
func run(ctx context.Context, args []string, s streams, now func() time.Time) (code int) {
	defer func() {
		if p := recover(); p != nil {
			fmt.Fprintf(s.err, "chestrise: stopped by a fault of the program: %v\n%s", p, debug.Stack())
			code = exitFailed
		}
	}()
	root := newRoot(s, now)
	root.SetArgs(args)
	root.SetOut(s.out)
	root.SetErr(s.err)
	err := root.ExecuteContext(ctx)
	return report(ctx, s.err, err)
}
