//go:build race

package sqlite

// raceDetector is on: the SQLite that runs here is some fifteen times slower.
const raceDetector = true
