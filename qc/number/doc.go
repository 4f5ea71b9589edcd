// Package number writes numbers as text.
//
// For readers they get a true minus sign (U+2212) and no sign at zero ([Plain], [Signed],
// [Digits]). For scripts they are written with a hyphen and a decimal point ([Fixed], [Cell],
// [CellSE]).
package number
