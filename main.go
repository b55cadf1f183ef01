// Strop trains a mix engineer's ears: it makes changes of known size to the
// engineer's own music and asks what was changed.
package main

import (
	"io"
	"log"
	"os"
	"path/filepath"

	"github.com/adrg/xdg"

	"strop/game/cli"
)

func main() {
	log.SetOutput(io.Discard) // some decoders write there; strop says what it has to say itself
	os.Exit(cli.Main(os.Args[1:], cli.SystemEnv(filepath.Join(xdg.DataHome, "strop"))))
}
