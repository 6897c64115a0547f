package office

// What the tests of this room look at from outside.

const (
	WrongPerName    = wrongPerName
	WrongPerMachine = wrongPerMachine
	WrongPerDevice  = wrongPerDevice
)
