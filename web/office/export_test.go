package office

// What the tests of this room look at from outside.

var LocalPath = localPath

const SignInsPerName = signInsPerName
