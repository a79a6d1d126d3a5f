package desk

import (
	"encoding/json"
	"errors"
	"io/fs"
	"net/http"
)

// refusal is a fault of the request, in a sentence for the user.
type refusal struct {
	status int
	text   string
}

func (r refusal) Error() string { return r.text }

func refuse(text string) error { return refusal{http.StatusBadRequest, text} }

var errNoJob = refusal{http.StatusNotFound, "There is no such job."}

// answer sends what a function returns as JSON, and its error as
// {"error": "sentence"}.
func answer(do func(w http.ResponseWriter, r *http.Request) (any, error)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		value, err := do(w, r)
		status := http.StatusOK
		if err != nil {
			value = map[string]string{"error": sentence(err)}
			status = http.StatusUnprocessableEntity
			var fault refusal
			var tooLarge *http.MaxBytesError
			switch {
			case errors.As(err, &fault):
				status = fault.status
			case errors.As(err, &tooLarge):
				status = http.StatusRequestEntityTooLarge
			}
		}
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(value) // nobody is left to be told
	})
}

// sentence leaves out which call of the system failed.
func sentence(err error) string {
	if fault, ok := err.(*fs.PathError); ok {
		return fault.Path + ": " + fault.Err.Error()
	}
	return err.Error()
}

// decode reads a JSON body of at most so many bytes.
func decode(w http.ResponseWriter, r *http.Request, most int64, into any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, most))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return err
		}
		return refuse("The page sent something that the desk does not know: " + err.Error())
	}
	return nil
}
