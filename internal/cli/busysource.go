package cli

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"graftclock/internal/caldav"
	"graftclock/internal/graft"
)

// sourceName names a calendar in messages. Of an address it is the host alone, for
// the rest is often the key to it.
func sourceName(source string) string {
	if !strings.Contains(source, "://") {
		return filepath.Base(source)
	}
	if address, err := url.Parse(source); err == nil && address.Host != "" {
		return address.Host
	}
	return "calendar"
}

// Environment variables with the login for a calendar that graftclock busy fetches.
const (
	envBusyUser     = "GRAFTCLOCK_BUSY_USER"
	envBusyPassword = "GRAFTCLOCK_BUSY_PASSWORD"
)

// readCalendar reads a calendar from an address or a file.
func readCalendar(source string, download func(string) ([]byte, error)) ([]byte, error) {
	if strings.Contains(source, "://") {
		return download(source)
	}
	data, err := os.ReadFile(source)
	if err != nil {
		return nil, fmt.Errorf("read the calendar: %w", err)
	}
	return data, nil
}

// download fetches a calendar from an address, with the login of the environment.
// An address that begins with webcal: is one over https.
func download(address string) ([]byte, error) {
	if scheme, rest, _ := strings.Cut(address, "://"); strings.EqualFold(scheme, "webcal") {
		address = "https://" + rest
	}
	data, err := caldav.Download(context.Background(), caldav.Options{URL: address, User: os.Getenv(envBusyUser), Password: os.Getenv(envBusyPassword)})
	if caldav.IsUnauthorized(err) {
		return nil, &graft.Refusal{Kind: graft.Invalid, Message: err.Error(), Hint: "put the login for this calendar into $" + envBusyUser + " and $" + envBusyPassword}
	}
	return data, err
}
