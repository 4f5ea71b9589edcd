// Package table reads the CSV files that people write by hand.
//
// These are manifests, limits files and lists of test targets: a header line, columns in any
// order, comment lines that start with #. Errors name the file, the line and the reason, and
// say what usually is wrong when a spreadsheet wrote the file.
package table
