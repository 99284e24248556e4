package sheet

// OpenWithin is Open with at most that many bytes unpacked.
var OpenWithin = open
