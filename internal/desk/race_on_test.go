//go:build race

package desk_test

// underRace says that the race detector makes everything several times slower.
const underRace = true
