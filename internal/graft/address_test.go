package graft

import (
	"strings"
	"testing"
)

func TestAddressFault(t *testing.T) {
	long := strings.Repeat("x", MaxLocalPart)
	for address, fault := range map[string]string{
		"nora.fenwick@example.org": "", "a+b!#$%&'*/=?^_`{|}~-@xn--bcher-kva.example": "", "root@localhost": "", long + "@example.org": "",
		"":                                       "is empty",
		"nora fenwick@x.org":                     "has a control character or a space",
		"nora@x.org\r\nBcc:y":                    "has a control character or a space",
		"nora":                                   "does not have one @",
		"a@b@c":                                  "does not have one @",
		long + "x@x.org":                         "is too long",
		"a@" + strings.Repeat("x.", 126) + "org": "is too long",
		".a@x.org":                               "has something before the @ that is no name of a mailbox",
		"a..b@x.org":                             "has something before the @ that is no name of a mailbox",
		`"a b"@x.org`:                            "has a control character or a space",
		`"ab"@x.org`:                             "has something before the @ that is no name of a mailbox",
		"nоra@x.org":                             "has something before the @ that is no name of a mailbox",
		"a@x..org":                               "has something after the @ that is no domain",
		"a@-x.org":                               "has something after the @ that is no domain",
		"a@x-.org":                               "has something after the @ that is no domain",
		"a@bücher.org":                           "has something after the @ that is no domain",
	} {
		if got := AddressFault(address); got != fault {
			t.Errorf("%q: %q, want %q", address, got, fault)
		}
	}
}
