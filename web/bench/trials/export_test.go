package trials

// DepartureSaid is reached by the tests of this room.
var DepartureSaid = departureSaid
