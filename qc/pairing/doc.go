// Package pairing finds out which files are the eyes of one clip.
//
// [Search.Clips] walks the given folders and files. Numbered pictures become one element per
// sequence (foldSequences). Then, in this order:
//
//  1. A manifest, pairs.csv in any folder, has the last word for the files that it names
//     (manifest.go, from_manifest.go).
//  2. Marks in paths: words that name an eye, such as L, right or lefteye, in the file's name
//     or a folder's, set apart from the rest of the name (marks.go). A path is read in every
//     way that its marks allow, and two files are mates when their paths are the same without
//     the marks. If a third file fits as well, all of them are reported as ambiguous.
//  3. Marks in the names alone, where of two folders with different names the one holds
//     nothing but left eyes and the other nothing but right ones, as when each camera has
//     its own card (acrossFolders).
//  4. A single file holds both eyes if its name has the mark of a packing, or if its stereo
//     tags say so. The tags are asked for through [Search.Ask], because this package opens no
//     video.
//  5. What then is left lies on the cards of two cameras (cards.go). Small copies of other
//     files are set aside (proxies.go). Which eye a file is of is said by the card
//     ([Search.Left], [Search.Right]), by rigs.csv (rigs.go), by marks, or by what people call
//     reels (eyes.go). Each camera's files are put into shooting order, and chapters of one take
//     together (order.go). Package takes aligns both cameras' takes; what tags leave open is
//     listened to and then looked at ([Search.Listen], [Search.Watch]). Only what is sure is
//     paired; where nothing says which eye is which, what belongs together is told and stays a
//     Problem. Chapters are paired one by one, since a clip has one file for each eye.
//
// Names go before times, with one exception (counters.go): the same name in the folders of two
// eyes says nothing where both folders hold other files without a mate, and one of the two
// surely belongs with another file. Then names are counters that met by chance.
//
// Whatever fits nothing, or fits in two ways, becomes a clip with a Problem that names the
// files: nothing is guessed. Names of clips are the shortest that differ from all others
// (name.go).
//
// The packings, with their marks and aliases, are a table in package record (packing.go).
package pairing
