// Package server is the teacher's server: it gives a class the trainer's browser
// edition and the sheets of its course, takes hand-ins, and shows the teacher a
// live board and the mark book.
//
// # What a learner's program asks
//
// Bodies and answers are JSON. Every refusal is {"error": "one sentence"} with
// a status that says what kind it is. Package client does all this.
//
//	GET /api/class
//	  200 {"title","roster"}   roster: there is a list to choose a name from
//
//	GET /api/sheet?code=CODE&who=NAME&id=ID     joins
//	  200 {"code","title","sheet","token","late","taken"}
//	      late: the sheet is closed; taken: somebody else has a name that looks
//	      like NAME
//	  400 this is no class code; the sentence says where it is mistyped
//	  403 the sheet is not open yet, or the class is closed to those who have not
//	      joined; ID of a hand-in that is on the board lets in
//	  404 a class code, but none of this course
//	  429 too many have joined from this address
//
//	GET /api/recording?code=CODE&sha256=HASH
//	  200 a recording of the sheet, as it is   404 the sheet has none of that hash
//
//	GET /api/roster?code=CODE&typed=TEXT
//	  200 up to eight names in which a word begins with TEXT
//
// What follows needs the token of joining in the header X-Class-Token (401
// without). A token is good for three hand-ins (403 after that).
//
//	POST /api/progress   {"code","id","who","round","takes":[{"error_db","in_window","points"}],"locked"}
//	  id is that of the hand-in that is being made, round the one being played
//	  (from 1; one more than there are when done), takes those of the rounds
//	  before it. At most 16 KiB. For the board alone, kept in memory; what is
//	  older than what is known changes nothing.
//	  200 {"together","released","round"}: whether all wait for each other, and up
//	      to which round may be played; round is that of the request
//	      in an exam also {"drawn","locked","over"}: the round that was asked for,
//	      once the takes before it are locked (by the digests in "locked"), how many
//	      takes are, and whether the exam was closed
//	  409 a round of an exam that was locked is another now
//	  400 malformed   404 wrong code   410 removed by the teacher   507 the board is full
//
//	POST /api/handin     the file, as package handin has it; at most what the
//	                     longest sheet of the course can need, 4 MiB at most
//	  201 {"id","known":false,"points","result"}  stored: it is on the disk
//	  200 {"id","known":true,"points","result"}   this very file was stored before
//	  400 it cannot be read              404 its sheet is none of this course
//	  403 a take of an exam was not locked before it was closed
//	  409 another file was handed in under the same id
//	  410 removed by the teacher         413 too large
//	  422 the check found something changed
//	  507 the class's store is full
//
//	GET /api/verdicts?id=ID   of a hand-in for an exam
//	  200 {"verdicts"} in the order of play   403 the exam is open   404 unknown
//
//	GET /r/ID            the learner's page of a hand-in, by twelve digits of its id
//
// A client sends a hand-in until it is answered 200 or 201 with the hand-in's
// own id: the id makes sending it again harmless. 429 (with Retry-After) and 5xx
// are worth another try, other refusals not. A request of another origin's page
// is refused (403).
//
// # What a teacher sees
//
//	/teacher                 the live board; /teacher?key=KEY once, then by cookie
//	/teacher/board.json      the board as JSON, which its page asks for every second
//	/teacher/do              POST: what the board's buttons do
//	/teacher/report          the mark book
//	/teacher/takes.csv, /teacher/learners.csv, /teacher/grades.csv, /teacher/hand-ins.zip
//
// The key is compared in constant time. The board has no names in it until they
// are asked for (/teacher/board.json?names=1).
//
// What goes over the network is not encrypted: it is meant for a room's own
// network, and on one with strangers in it they can read names and the key.
// Without being told otherwise the server listens on this machine alone.
//
// Hand-ins are checked as they come (package handin): what does not follow from
// its moves is refused, and so is not stored. Each refusal is a log line. They
// are put in order by their arrival here.
package server
