package outside

// What the tests of this room look at from outside.

const AuthorityPath = authorityPath

var CustomerStatus = customerStatus

const LinkAnswersPerMachine = linkAnswersPerMachine
