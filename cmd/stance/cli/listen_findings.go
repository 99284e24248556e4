package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"

	"example.com/stance/lint/finding"
	"example.com/stance/lint/report"
)

// An outlet hands findings on: to a file that only grows, to a program, or both.
type outlet struct {
	file  *os.File // nil: none
	end   int64    // of what is whole in it
	given map[string]bool
	run   []string
}

// openOutlet opens the file of findings. What a killed run has left unfinished at its end is cut off: those findings
// are found again.
func openOutlet(name string, run []string) (*outlet, error) {
	o := &outlet{given: map[string]bool{}, run: run}
	if name == "" {
		return o, nil
	}
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, usagef("%s: %w", name, cause(err))
	}
	if err := o.remember(f); err != nil {
		return nil, errors.Join(usagef("%s: %w", name, err), f.Close())
	}
	o.file = f
	return o, nil
}

// remember reads the ids of the findings in the file.
func (o *outlet) remember(f *os.File) error {
	data, err := io.ReadAll(f)
	if err != nil {
		return err
	}
	whole := bytes.LastIndexByte(data, '\n') + 1
	line := 0
	for text := range bytes.Lines(data[:whole]) {
		line++
		var known struct {
			ID string `json:"id"`
		}
		if json.Unmarshal(text, &known) != nil || known.ID == "" {
			return fmt.Errorf("line %d: want a finding, as stance listen writes them", line)
		}
		o.given[known.ID] = true
	}
	o.end = int64(whole)
	return f.Truncate(o.end)
}

// write appends lines; where that fails, the next call writes over what came of it.
func (o *outlet) write(lines []byte) error {
	if o.file == nil {
		return nil
	}
	if _, err := o.file.WriteAt(lines, o.end); err != nil {
		return err
	}
	if err := o.file.Sync(); err != nil {
		return err
	}
	o.end += int64(len(lines))
	return nil
}

func (o *outlet) close() error {
	if o.file == nil {
		return nil
	}
	return o.file.Close()
}

// take hands on what was not handed on before: findings, then sentences about moving that were not understood, without
// which nobody could tell a note with nothing wrong from one that was not read.
func (o *outlet) take(ctx context.Context, all []finding.Finding, overlooked []finding.Overlooked) error {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	var ids []string
	put := func(id string, line any) error {
		if o.given[id] {
			return nil
		}
		ids = append(ids, id)
		return enc.Encode(line)
	}
	for _, f := range all {
		if f.Evidence == nil {
			f.Evidence = []finding.Evidence{}
		}
		if err := put(f.ID, f); err != nil {
			return err
		}
	}
	for _, line := range unreadLines(overlooked) {
		if err := put(line.ID, line); err != nil {
			return err
		}
	}
	if len(ids) == 0 {
		return nil
	}
	if err := o.handTo(ctx, b.Bytes()); err != nil {
		return err
	}
	if err := o.write(b.Bytes()); err != nil {
		return err
	}
	for _, id := range ids {
		o.given[id] = true
	}
	return nil
}

// An unreadLine tells of a sentence that was not understood, among lines of findings.
type unreadLine struct {
	ID   string `json:"id"`
	Rule string `json:"rule"` // report.NotUnderstood
	finding.Overlooked
}

// unreadLines are the lines for what one resident's notes say, with ids that are made as those of findings are.
func unreadLines(overlooked []finding.Overlooked) []unreadLine {
	ids := make([]finding.Finding, len(overlooked))
	for i, o := range overlooked {
		ids[i] = finding.Finding{Rule: report.NotUnderstood, Resident: o.Resident, Note: o.Note, Shift: o.Shift, Text: o.Text}
	}
	finding.Identify(ids)
	lines := make([]unreadLine, len(overlooked))
	for i, o := range overlooked {
		lines[i] = unreadLine{ids[i].ID, report.NotUnderstood, o}
	}
	return lines
}

// handTo hands lines to the program.
func (o *outlet) handTo(ctx context.Context, lines []byte) error {
	if len(o.run) == 0 {
		return nil
	}
	c := exec.CommandContext(ctx, o.run[0], o.run[1:]...)
	c.Stdin = bytes.NewReader(lines)
	if err := c.Run(); err != nil {
		return fmt.Errorf("--run %s: %w", o.run[0], cause(err))
	}
	return nil
}
