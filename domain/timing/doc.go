// Package timing holds what a watchmaker reads from a watch in its positions: readings, runs, their statistics, and
// the rate limits a run is judged by.
//
// Rates are in seconds per day, positive when the watch gains; amplitudes in degrees from rest to turning point;
// beat errors in milliseconds, half the difference of successive beat intervals, never negative here; states of wind
// in hours after full winding, 0 being full wind.
package timing
