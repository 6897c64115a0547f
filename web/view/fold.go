package view

// FoldView is a section that most readers do not need. Says is what they would find, with its figures: "5 of 8 met".
type FoldView struct {
	ID, TestID, Heading, Says string
	Open                      bool // something in it asks for attention
	Prints                    bool // on paper it stands open; what does not is left out
}
