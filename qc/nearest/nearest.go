package nearest

import "strings"

// maxMistakes is how many letters of a name may be wrong, too many or too few for it to
// be taken for another, as cobra has it for commands.
const maxMistakes = 2

// Name returns the name that a word may have been meant for: the one that it takes
// the smallest number of changes of a letter to come to, upper or lower case, or else one that begins
// or ends with it. It is empty where none is near.
func Name(word string, names []string) string {
	best, minMistakes := "", maxMistakes+1
	word = strings.ToLower(word)
	for _, name := range names {
		if n := levenshtein(word, strings.ToLower(name)); n < minMistakes {
			best, minMistakes = name, n
		}
	}
	if best != "" || word == "" {
		return best
	}
	for _, name := range names {
		if strings.HasPrefix(name, word) || strings.HasSuffix(name, word) {
			return name
		}
	}
	return ""
}

// levenshtein returns how many letters have to be put in, left out or replaced to make
// one word of another (V. I. Levenshtein, 1965).
func levenshtein(from, to string) int {
	a, b := []rune(from), []rune(to)
	row := make([]int, len(b)+1) // of the letters of a so far, to so many of b
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			replaced := diagonal
			if a[i] != b[j] {
				replaced++
			}
			diagonal = row[j+1]
			row[j+1] = min(replaced, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
