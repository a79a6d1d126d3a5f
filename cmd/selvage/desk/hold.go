package desk

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

// holdName is the file in the folder of the jobs that an open desk keeps locked.
// The system unlocks it when the process ends, however it does, so that a desk
// that was killed is in nobody's way. It stays there, unlocked.
const holdName = ".selvage-desk"

// held is a folder that this process holds.
type held struct {
	file *os.File
	desk string
}

// holder says in the file who holds the folder.
type holder struct {
	Desk     string    `json:"desk"` // a name that nobody else has
	Computer string    `json:"computer"`
	Since    time.Time `json:"since"`
}

// Taken is the error where another desk holds the folder.
type Taken struct {
	Folder string
	Desk   string // empty where it is not known
	holder holder
}

func (t Taken) Error() string {
	if t.holder.Desk == "" {
		return fmt.Sprintf("another desk has %s open", t.Folder)
	}
	return fmt.Sprintf("another desk has %s open, on the computer %s since %s", t.Folder, t.holder.Computer, t.holder.Since.Local().Format("2 January 2006, 15:04"))
}

var errLocked = errors.New("it is locked")

// hold takes a folder, or says which desk has it. Where files cannot be locked,
// as on some drives of a network, it is errors.ErrUnsupported or what the system said.
func hold(folder string) (*held, error) {
	// Open for reading only, so that a drive can be made read-only meanwhile.
	path := filepath.Join(folder, holdName)
	f, err := os.OpenFile(path, os.O_RDONLY|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	if err := lock(f); err != nil {
		defer f.Close()
		if errors.Is(err, errLocked) {
			var by holder
			if json.NewDecoder(io.LimitReader(f, mostName)).Decode(&by) != nil {
				by = holder{} // it is just being written
			}
			return nil, Taken{folder, by.Desk, by}
		}
		return nil, err
	}
	computer, err := os.Hostname()
	if err != nil {
		computer = "unknown"
	}
	by := holder{rand.Text(), computer, time.Now()}
	if err := by.write(path); err != nil {
		f.Close()
		return nil, err
	}
	return &held{f, by.Desk}, nil
}

// write puts a holder at the beginning of the file; what follows from before is
// not read.
func (by holder) write(path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(json.NewEncoder(f).Encode(by), f.Close())
}

// release unlocks the folder; h may be nil.
func (h *held) release() {
	if h != nil {
		_ = h.file.Close() // which unlocks it
	}
}
