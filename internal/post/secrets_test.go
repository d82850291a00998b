package post_test

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"testing"

	"graftclock/internal/post"
)

// keepsSecrets looks for the login in everything an error can be made to print.
func keepsSecrets(t *testing.T, err error, s post.Server) {
	t.Helper()
	for e := err; e != nil; e = errors.Unwrap(e) {
		for _, verb := range []string{"%v", "%+v", "%#v"} {
			printed := strings.ToLower(fmt.Sprintf(verb, e))
			for _, secret := range []string{s.User, s.Password} {
				for _, form := range []string{secret, base64.StdEncoding.EncodeToString([]byte(secret))} {
					if form != "" && strings.Contains(printed, strings.ToLower(form)) {
						t.Errorf("%s of %T tells a secret: %s", verb, e, printed)
					}
				}
			}
			if both := base64.StdEncoding.EncodeToString([]byte("\x00" + s.User + "\x00" + s.Password)); strings.Contains(printed, strings.ToLower(both)) {
				t.Errorf("%s of %T tells the login: %s", verb, e, printed)
			}
		}
	}
}
