// Stance reads free-text handover notes and says where they conflict with the charted mobility
// status, with other shifts and with safe practice.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"example.com/stance/cmd/stance/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	// The second signal ends the program at once.
	context.AfterFunc(ctx, stop)
	status := cli.Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
