package casefile

import (
	"graftclock/internal/graft"
	"graftclock/internal/table"
)

// Mail is how a clinic sends mail (RFC 5321). The password is never in the clinic
// file.
type Mail struct {
	From         string // e-mail address of the clinic
	Host         string // of the SMTP server
	Port         int
	Security     string // starttls, tls, or none, which only a server on this machine may have
	User         string // empty: the server asks for no password
	PasswordFile string // beside the clinic file, for its owner only; empty: the environment has it
}

// Shared is a calendar collection on a CalDAV server (RFC 4791).
type Shared struct {
	URL          string // of the collection, ending in /; https unless the server is this machine
	User         string // empty: the server asks for no password
	PasswordFile string // beside the clinic file, for its owner only; empty: the environment has it
}

// notEncrypted is the security of a server that is this machine.
const notEncrypted = "none"

// mostPort is the greatest number of a port.
const mostPort = 65535

var patientMailShape = table.Map("the patient's recorded choice to be told of visits by e-mail; left out: nothing is mailed",
	table.Must("address", table.Formal("", MailAddress)),
	table.Must("agreed", table.Formal("day of the choice", dayGrammar)),
	table.Must("letter", table.Bool("true: the letter, which tells of the operation, may come along")),
)

var mailShape = table.Map("how the clinic sends mail; left out: it sends none",
	table.Must("from", table.Formal("the clinic's own", MailAddress)),
	table.Must("server", table.Formal("", hostGrammar)),
	table.Must("port", table.Whole("", "", 1, mostPort)),
	table.Must("security", table.Word("none: only for a server on this machine", "starttls", "tls", notEncrypted)),
	userField, passwordField,
).Refuse("password", passwordHint)

var sharedShape = table.Map("the desk's calendar on a CalDAV server; left out: none",
	table.Must("url", table.Formal("https, unless the server is this machine; ends in /", calendarGrammar)),
	userField, passwordField,
).Refuse("password", passwordHint)

var (
	userField     = table.May("user", table.Text("left out: the server asks for no password"))
	passwordField = table.May("password_file", table.Text("file with the password, beside this one, for its owner only; left out: the environment has it"))
)

const passwordHint = "a password never stands in the clinic file: password_file names the file that holds it"

func patientMail(v *table.Value) graft.Mail {
	return graft.Mail{Address: v.Get("address").Text(), Agreed: dayAt(v.Get("agreed")), Letter: v.Get("letter").Bool(false)}
}

// mail reads how the clinic sends mail and complains of a password that could be
// read on its way, or that is nobody's.
func mail(v *table.Value) Mail {
	m := Mail{
		From:         v.Get("from").Text(),
		Host:         v.Get("server").Text(),
		Port:         v.Get("port").Int(),
		Security:     v.Get("security").Text(),
		User:         v.Get("user").Text(),
		PasswordFile: v.Get("password_file").Text(),
	}
	if m.Security == notEncrypted && m.Host != "" && !isHere(m.Host) {
		v.Get("security").Fault("none with the server "+m.Host, "starttls, tls", "none is only for a server on this machine: localhost, 127.0.0.1 or ::1")
	}
	checkPassword(v)
	return m
}

func shared(v *table.Value) Shared {
	checkPassword(v)
	return Shared{URL: v.Get("url").Text(), User: v.Get("user").Text(), PasswordFile: v.Get("password_file").Text()}
}

func checkPassword(v *table.Value) {
	if file := v.Get("password_file"); file != nil && !v.Has("user") {
		file.Fault("a password without a user", "user beside it", "")
	}
}
