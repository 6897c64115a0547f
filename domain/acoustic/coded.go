package acoustic

// NoteCoded: the sound went through a coder that leaves out what people don't hear.
const NoteCoded NoteCode = "coded"

// CodedNote is the remark on a sound from such a coder (MP3, Opus, AAC). The unlocking is faint and lies just before the
// loud drop, where those coders save most: of 60 simulated recordings the amplitude is withheld in one at 96 kbit/s and in
// a fifth at 32 to 48, and what is stated of those given holds in 210 of 216.
func CodedNote() Note {
	return Note{NoteCoded, "This sound comes from a format that leaves out what people don't hear, such as MP3, M4A or Opus: the " +
		"rate holds, but amplitude and beat error are less certain and may be hidden. Record as WAV or FLAC for those."}
}
