// Package qc measures the clips of a shooting day overnight.
//
// # A night
//
// [Night.Run] takes the clips that package pairing found. For each it works out a fingerprint
// and asks the [Ledger] whether a record with that fingerprint is there; if so the clip is
// kept as it is. What has to be measured goes to a few workers. Each starts a child process
// per clip, copies the lines of its record into the ledger and tells the caller how far it is
// ([Progress]). Judging and the report come afterwards, from the records alone (package judge,
// package reports): a night needs neither.
//
// # A child per clip
//
// Clips are decoded by C code, which a broken file can crash, hang or make take all the
// memory. So the same binary is started again for every clip, in a process group of its own:
// [Child] is the parent's side of it, [Serve] what the child does. The job goes in as JSON on
// standard input, the record comes out as JSON lines on standard output. A child is marked by
// an environment variable and refuses to start children.
//
// What happens when a child dies: its standard output ends before the record's trailer. The
// partial record is dropped, and a record that says why is written in its place, with what
// the child told of the files before it died (the early header) and the first line of the
// crash from its standard error. A child that writes no line for [DefaultSilence], or writes
// what is no record, is killed with its group and treated the same. The clip is then
// unmeasured, the other clips are not touched, and the next night tries it again. On Linux a
// child also dies with its parent.
//
// What files say and show before anything is measured is asked in the same way, of many files
// in few children ([Child.Ask]): a child that dies over a file costs that answer alone.
//
// # The ledger
//
// The folder OUT/records is all the state there is. While a clip is measured its record has
// the ending .partial; after the trailer has come and the child has exited with 0 the file is
// synced to the disk, renamed, and the folder synced. So whatever a crash or a power cut
// leaves is either a whole record or a .partial file, which the next run removes. Running
// again goes on where the night stopped, and gives the same bytes as a night that was not
// interrupted. A lock file keeps two processes from measuring into one report.
//
// A record counts as done when its fingerprint still matches: paths, sizes and modification
// times of the files, the plan, what the user said of the mirror, and the revisions of all
// metrics. A record that says that measuring failed, or that the night ended before the plan
// was complete, does not count, so such clips are measured again. Before a night, records
// that its clips replace and failed records that are no longer clips are removed
// (Ledger.prune); a record that holds other footage under the name of a clip is an error and
// is never overwritten.
//
// # The end of a night
//
// With [Night.Until] clips that are being measured finish the pass of the plan they are in.
// Every prefix of the passes is spread evenly over the clip (measure.Plan), so what there is
// is a fair sample. Clips that were not begun get a record that says so.
package qc
