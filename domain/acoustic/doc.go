// Package acoustic finds a lever watch's beats in sound and its rate, amplitude and beat error from them, each with
// its uncertainty.
//
// A lever escapement makes three sounds a beat: the unlocking of the pallet, the impulse, and the drop of the next
// tooth on the other pallet with the lever against its banking. The drop is the loudest and gives the beat its time;
// the time from unlocking to drop, during which the balance turns through the lift angle, gives its amplitude.
//
// Times are seconds from the first sample by the recorder's own clock unless said otherwise, rates seconds a day.
package acoustic
