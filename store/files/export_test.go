package files

// Fault is fault, for tests.
var Fault = fault
