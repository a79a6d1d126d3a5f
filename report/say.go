package report

import "fmt"

// Say puts what is shown into a sentence.
func (u Units) Say(format string, args ...any) string { return fmt.Sprintf(format, args...) }
