package gate

// Forget drops what is kept in memory of a person, so that a change of language, units or look shows at once. Sessions go on;
// see Changed for what changes what a person may do.
func (g *Gate) Forget(person int64) { g.forget(person) }
