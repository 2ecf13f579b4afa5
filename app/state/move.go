package state

// Moving is how far the move of a whole bench to another device is: what the file held that was made
// here last, and what of the file that was read in last is here.
type Moving struct {
	Out, In  *Held // nil before
	Checking bool  // what was read in is being read back
}

// Held is what a file of a bench holds, or what of it was read back from the storage.
type Held struct {
	Units, Steps, Photos, Models int
	Benches                      int    // whose counts it holds
	Check                        string // the same on both devices if the same is there
	Lacking                      int    // how many units, photographs, models and counts of the file are not here as they are in it
}

// Moved says what of a file of a bench is here.
type Moved struct{ Held Held }
