package guard

// HashQuickly takes password for the one of every user, because hashing takes long on purpose. Tests
// of what happens around a login use it; those of the login itself do not.
func (g *Guard) HashQuickly(password string) {
	g.matches = func(stored, given string) bool { return stored != g.decoy && given == password }
}
