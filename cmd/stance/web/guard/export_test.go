package guard

import (
	"context"
	"time"
)

// HashQuickly takes password for the one of every user, because hashing takes long on purpose, and lets no login be
// held up. Tests of what happens around a login use it; those of the login itself do not.
func (g *Guard) HashQuickly(password string) {
	g.matches = func(stored, given string) bool { return stored != g.decoy && given == password }
	g.HoldBy(func(context.Context, time.Duration) error { return nil })
}

// HoldBy has logins that are to be held up wait by pause.
func (g *Guard) HoldBy(pause func(context.Context, time.Duration) error) { g.pause = pause }
