//go:build !unix

package cli

// lockFolder does nothing where folders have no locks: the ledger parts those who
// change the clinic file.
func lockFolder(string) (unlock func(), err error) { return func() {}, nil }

// syncFolder does nothing where a folder cannot be brought to the disk apart.
func syncFolder(string) error { return nil }
