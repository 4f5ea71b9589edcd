// Package qc checks stereo clips: it pairs the files of a shooting day,
// measures what the two eyes show of one another, keeps the figures as
// records, and judges records against limits.
package qc
