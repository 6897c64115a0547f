package acoustic

// NoteCoded: the sound went through a coder that leaves out what people don't hear.
const NoteCoded NoteCode = "coded"

// CodedNote is the remark on a sound from such a coder (MP3, Opus, AAC). The unlocking is faint and lies just before the
// loud drop, where those coders save most: of five simulated recordings coded at 32 kbit/s, two gave an amplitude 25 to 120°
// off its stated ±5°, at 64 kbit/s one was 17° off, and the rate only once moved by more than 0.1 s/d.
func CodedNote() Note {
	return Note{NoteCoded, "This sound comes from a format that leaves out what people don't hear, such as MP3, M4A or Opus: the " +
		"rate holds as a rule, but amplitude and beat error may be far further off than stated. Record as WAV or FLAC for those."}
}
