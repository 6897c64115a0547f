package page

// What the tests of this room look at from outside.

var ClientAddress = clientAddress
