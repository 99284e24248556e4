package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/apache/beam/sdks/v2/go/pkg/beam"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/core/runtime/graphx"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/runners/prism"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/runners/universal/extworker"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/runners/universal/runnerlib"
	"golang.org/x/sync/errgroup"

	"example.com/stance/cmd/stance-fleet/fleet"
)

// pool starts workers in this process for who asks at the address that it prints, until its standard input ends.
func pool() {
	flag.Parse()
	beam.Init()
	ctx := context.Background()
	srv, err := extworker.StartLoopback(ctx, 0)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Println(srv.EnvironmentConfig(ctx))
	io.Copy(io.Discard, os.Stdin) // whatever ends it
	os.Exit(0)
}

// startPool gives the address of a process in which workers are started.
func startPool(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), asPool+"=1", "TZ=UTC")
	stdin, err := c.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		stdin.Close()
		c.Wait() // it was told to end
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(line)
}

// Two worker processes work for one runner, which is in this process and does none of it: what workers send one another
// goes through the network. Each has a pipeline of its own, for half of the homes, because Prism keeps one worker a
// pipeline: of two it mixes up the metrics, which each numbers for itself, and fails.
func TestTwoWorkers(t *testing.T) {
	c := fifty(t)
	ctx := context.Background()
	free, err := net.Listen("tcp", "localhost:0")
	if err != nil {
		t.Fatal(err)
	}
	port := free.Addr().(*net.TCPAddr).Port
	if err := free.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := prism.CreateJobServer(ctx, prism.Options{Port: port}); err != nil {
		t.Fatal(err)
	}
	var both errgroup.Group
	outs, halves := make([]string, 2), []map[string]answer{{}, {}}
	for home, want := range c.want {
		halves[len(halves[0])-len(halves[1])][home] = want
	}
	for i, half := range halves {
		outs[i] = filepath.Join(t.TempDir(), "out")
		worker := startPool(t)
		both.Go(func() error { return runWith(ctx, c, half, outs[i], worker, fmt.Sprintf("localhost:%d", port)) })
	}
	if err := both.Wait(); err != nil {
		t.Fatal(err)
	}
	for i, half := range halves {
		sameAll(t, half, outs[i])
	}
}

// runWith checks some homes with the worker at an address.
func runWith(ctx context.Context, c *country, homes map[string]answer, out, worker, runner string) error {
	job := fleet.Job{Out: out, Run: "run", Charted: true, Now: time.Now().Add(24 * time.Hour), Version: version(), Shards: 4, Group: true}
	var files []fleet.File
	for home := range homes {
		files = append(files, fleet.File{Name: filepath.Join(c.dir, home, "notes.jsonl"), Home: home},
			fleet.File{Name: filepath.Join(c.dir, home, "chart.csv"), Home: home, Chart: true})
	}
	if err := fleet.Begin(ctx, &job); err != nil {
		return err
	}
	p, err := fleet.Pipeline(job, files)
	if err != nil {
		return err
	}
	edges, _, err := p.Build()
	if err != nil {
		return err
	}
	env, err := graphx.CreateEnvironment(ctx, graphx.URNEnvExternal, func(context.Context) string { return worker })
	if err != nil {
		return err
	}
	made, err := graphx.Marshal(edges, &graphx.Options{Environment: env})
	if err != nil {
		return err
	}
	if _, err := runnerlib.Execute(ctx, made, runner, &runnerlib.JobOptions{Name: "half", Loopback: true}, false); err != nil {
		return err
	}
	return fleet.End(ctx, out)
}
