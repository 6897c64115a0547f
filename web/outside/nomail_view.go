package outside

// noMailView is where a customer asks for no more mail, in the customer's language.
type noMailView struct {
	Action  string
	Stopped bool
	Title, Ask, Stop,
	Done, Again, Phone string
}
