package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"example.com/stance/cmd/stance/web/guard"
)

type addUserOptions struct {
	users        string
	roles, units []string
	replace      bool
}

func (a *app) addUserCommand() *cobra.Command {
	var opt addUserOptions
	c := &cobra.Command{
		Use:   "adduser NAME --users FILE --roles ROLES --units UNITS",
		Short: "Add somebody who may log in to the page",
		Long: fmt.Sprintf(`adduser adds a user to the file that stance serve --users reads, and makes the file where
there is none. It asks for the password twice, or reads it from the first line of standard
input where that is no keyboard. A password has at least %d characters; several words are
easiest to remember. Only a hash of it is kept.

The roles are

  write   write notes and have them checked
  review  see the findings of a unit, answer them, and read residents' notes
  audit   see rates over many notes, and the notes behind them

A running server takes changes up at once. --replace gives a user another password, other
roles and units, and ends what they are logged in to. To take a user out, delete the line
with the name from the file.

Exit status:
  0  the user is in the file
  2  wrong usage, or a file that could not be read or written
  3  a fault inside stance, or stopped before the end`, guard.MinPassword),
		Example: `  stance serve adduser a17 --users users.jsonl --roles write,review --units Birch,Rowan
  stance serve adduser q02 --users users.jsonl --roles audit --units all`,
		Args: arguments(1, 1, "the name of one user"),
		RunE: func(_ *cobra.Command, args []string) error { return a.addUser(&opt, args[0]) },
	}
	f := c.Flags()
	f.StringVar(&opt.users, "users", "", "`file` of those who may log in, made where there is none")
	f.StringSliceVar(&opt.roles, "roles", nil, "what the user may do: `roles` out of write, review and audit")
	f.StringSliceVar(&opt.units, "units", nil, "`units` whose residents the user may see, or all")
	f.BoolVar(&opt.replace, "replace", false, "give a user of that name a new password, roles and units")
	return c
}

func (a *app) addUser(opt *addUserOptions, name string) error {
	switch {
	case opt.users == "":
		return usagef("want --users FILE, the file to add the user to")
	case len(opt.roles) == 0:
		return usagef("want --roles, out of write, review and audit")
	case len(opt.units) == 0:
		return usagef("want --units, those whose residents %s may see, or all", name)
	}
	u := guard.User{Name: name}
	for _, unit := range opt.units {
		u.Units = append(u.Units, strings.TrimSpace(unit)) // as in "Birch, Rowan"
	}
	for _, r := range opt.roles {
		if !slices.Contains(guard.Roles(), guard.Role(r)) {
			return usagef("--roles: unknown role %q, want write, review or audit", r)
		}
		u.Roles = append(u.Roles, guard.Role(r))
	}
	if err := guard.CheckName(name); err != nil {
		return usagef("%w, not %q", err, name)
	}
	password, err := a.password()
	if err != nil {
		return err
	}
	err = guard.AddUser(opt.users, u, password, opt.replace)
	switch {
	case errors.Is(err, guard.ErrUserExists):
		return usagef("%s is a user already; --replace gives a new password, roles and units", name)
	case err != nil:
		return usagef("%s was not added: %w", name, err)
	}
	_, err = fmt.Fprintf(a.out, "%s may log in: %s; units: %s.\n", name, strings.Join(opt.roles, ", "), strings.Join(u.Units, ", "))
	return err
}

// maxPasswordLine bounds what is read of standard input, in bytes; a longer password is refused anyway.
const maxPasswordLine = 4096

// password asks for a password twice without showing it, or reads one line of standard input that is
// no keyboard.
func (a *app) password() (string, error) {
	f, ok := a.in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(io.LimitReader(a.stoppable(a.in), maxPasswordLine)).ReadString('\n')
		if err != nil && err != io.EOF {
			return "", usagef("standard input: reading the password: %w", err)
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	first, err := a.ask(f, fmt.Sprintf("Password, at least %d characters: ", guard.MinPassword))
	if err != nil {
		return "", err
	}
	second, err := a.ask(f, "The same again: ")
	if err != nil {
		return "", err
	}
	if first != second {
		return "", usagef("the two passwords differ; nobody was added")
	}
	return first, nil
}

// ask reads a line from a terminal without showing it. When the program is to stop the terminal is set back to how
// it was, because reading itself cannot be broken off.
func (a *app) ask(f *os.File, question string) (string, error) {
	fd := int(f.Fd())
	before, err := term.GetState(fd)
	if err != nil {
		return "", err
	}
	fmt.Fprint(a.err, question)
	line, err := awaited(a.stop, func() ([]byte, error) { return term.ReadPassword(fd) })
	fmt.Fprintln(a.err)
	switch {
	case errors.Is(err, context.Canceled):
		return "", errors.Join(err, term.Restore(fd, before))
	case err != nil:
		return "", usagef("reading the password: %w", err)
	}
	return string(line), nil
}
