// Package nearest finds the name that a mistyped one was meant for.
package nearest
