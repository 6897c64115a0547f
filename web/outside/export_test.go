package outside

// What the tests of this room look at from outside.

const AuthorityPath = authorityPath

var StatusKey, Stations = statusKey, stations

const LinkAnswersPerMachine = linkAnswersPerMachine
