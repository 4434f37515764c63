// Package server is the teacher's server: it gives a class the trainer's browser
// edition and the sheet, takes hand-ins, and shows the teacher a live board and
// the mark book.
//
// # What a learner's program asks
//
// Bodies and answers are JSON. Every refusal is {"error": "one sentence"} with
// a status that says what kind it is. Package client does all this.
//
//	GET /api/sheet?code=CODE
//	  200 {"code","title","words","sheet"}
//	  400 this is no class code; the sentence says where it is mistyped
//	  404 a class code, but not of this class
//
//	POST /api/progress   {"code","id","who","round","takes":[{"error_db","in_window","points"}]}
//	  id is that of the hand-in that is being made, round the one being played
//	  (from 1; one more than there are when done), takes those of the rounds
//	  before it. At most 16 KiB. For the board alone, kept in memory; what is
//	  older than what is known changes nothing.
//	  204 seen     400 malformed     404 wrong code
//
//	POST /api/handin     the file, as package handin has it; at most 4 MiB
//	  201 {"id","known":false,"points"}  stored: it is on the disk
//	  200 {"id","known":true,"points"}   this very file was stored before
//	  400 it cannot be read              404 its sheet is not this class's
//	  409 another file was handed in under the same id
//	  413 too large                      422 the check found something changed
//	  507 the class's store is full
//
// A client sends a hand-in until it is answered 200 or 201 with the hand-in's
// own id: the id makes sending it again harmless. 429 (too fast, with
// Retry-After) and 5xx other than 507 are worth another try, other refusals
// not. A request of another origin's page is refused (403).
//
// # What a teacher sees
//
//	/teacher            the live board; /teacher?key=KEY once, then by cookie
//	/teacher/report     the mark book
//	/teacher/takes.csv, /teacher/learners.csv, /teacher/hand-ins.zip
//	/teacher/events     server-sent events: the board as JSON, at most four times a second
//
// The key is compared in constant time. The board has no aliases in it until
// they are asked for (/teacher/events?names=1).
//
// What goes over the network is not encrypted: it is meant for a room's own
// network, and on one with strangers in it they can read aliases and the key.
// Without being told otherwise the server listens on this machine alone.
//
// Hand-ins are checked as they come (package handin): what does not follow from
// its moves is refused, and so is not stored. Each refusal is a log line.
package server
