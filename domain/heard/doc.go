// Package heard turns what was heard of a watch into a reading of a run: which figures and uncertainties the reading
// takes, what is kept of the recording beside it, how a watchmaker's correction of the instants is recorded, and when a
// watch was listened to long enough to decide.
package heard
