package main

import (
	"strings"
	"unicode"
)

// printable replaces what a terminal would obey instead of showing: names of
// files may hold anything.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '\uFFFD'
	}, s)
}

// oneLine puts an error that has several lines, as several errors have, into
// one, and truncates what nobody would read to the end.
func oneLine(s string) string {
	const maxRunes = 2000
	line := []rune(printable(strings.ReplaceAll(s, "\n", "; ")))
	if len(line) > maxRunes {
		line = append(line[:maxRunes], '…')
	}
	return string(line)
}

// fold breaks text into lines of at most width characters, each after indent.
func fold(text, indent string, width int) string {
	var b strings.Builder
	length := 0
	for _, word := range strings.Fields(text) {
		n := len([]rune(word))
		switch {
		case length == 0:
			b.WriteString(indent)
			length = len(indent)
		case length+1+n > width:
			b.WriteString("\n" + indent)
			length = len(indent)
		default:
			b.WriteByte(' ')
			length++
		}
		b.WriteString(word)
		length += n
	}
	return b.String()
}

// shortened returns text with at most that many characters: where it is longer, as many
// whole words as there is room for and an ellipsis, or the beginning of a word that fills it.
func shortened(text string, room int) string {
	letters := []rune(text)
	if len(letters) <= room {
		return text
	}
	if room < 1 {
		return ""
	}
	kept := string(letters[:room-1])
	if at := strings.LastIndexByte(kept, ' '); at > 0 && letters[room-1] != ' ' {
		kept = kept[:at]
	}
	return strings.TrimRight(kept, " ,;:") + "…"
}
