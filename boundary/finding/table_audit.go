package finding

// Codes of auditing photos.
var audit = []Entry{}
