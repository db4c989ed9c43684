package exposure

// OnlyIfItDecides reports whether a comparison is there only because it
// decides.
func (k *Comparison) OnlyIfItDecides() bool { return k.ifDecided }
