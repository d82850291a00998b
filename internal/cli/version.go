package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"graftclock/internal/clinic"
	"graftclock/internal/protocol"
)

// zoneData is the release of the IANA zone data inside the program: the one that
// ships with the Go release it is built by. A test compares it with that
// release.
const zoneData = "2025c"

// version names the program and everything its dates rest on.
func version() string {
	build := "unreleased"
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		build = info.Main.Version
	}
	return fmt.Sprintf("graftclock %s\nrules      %s\nholidays   github.com/rickar/cal/v2 %s\nzone data  %s (%s)",
		build, protocol.Default().Version(), clinic.LibraryVersion, zoneData, runtime.Version())
}
