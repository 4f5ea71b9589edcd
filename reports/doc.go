// Package reports writes a judged night as files.
//
// [Write] takes the [Results] of a night and fills a folder: tables for scripts (tables.go,
// csv.go), stills and anaglyphs (still.go), corrections and colour decisions (fix.go,
// colour_decision.go), a page for each clip (clip_page.go), the rig crew's card and its tables
// (line_up.go, rig_card.go, since_target.go, rig_table.go) and, last, the morning page
// (page.go, work.go), so that it never links to what is not there. Each file appears whole or
// not at all (folder.go), and files of clips that are gone are removed if they carry our
// mark.
//
// Pages are html/template with one style sheet (pages/). They ask the network for nothing and
// run no script. Every measurement has a plot over the clip, drawn as SVG with error bars and
// limits (plot.go). Control characters in names are made visible first (text.go).
//
// Nothing is measured or judged here; values come with their standard error and are shown as
// ± two of these. The same results give the same bytes, in whatever order the records come.
package reports
