package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"path"

	"graftclock/templates"
)

// asset is the style sheet or the script, under an address that changes with it.
type asset struct {
	address, kind string
	data          []byte
}

type assets map[string]asset

// assetKinds are the files that pages load.
var assetKinds = map[string]string{"style.css": "text/css; charset=utf-8", "script.js": "text/javascript; charset=utf-8"}

func readAssets() (assets, error) {
	all := assets{}
	for name, kind := range assetKinds {
		data, err := templates.Files.ReadFile(path.Join("web", name))
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		const digits = 8
		sum := sha256.Sum256(data)
		all[name] = asset{"/static/" + hex.EncodeToString(sum[:digits]) + "/" + name, kind, data}
	}
	return all, nil
}

// serve answers with an asset. Its address names its content, so a browser may keep
// it.
func (a asset) serve(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	w.Write(a.data)
}
