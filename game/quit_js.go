package game

// canQuit says whether the program can end itself; a page in a browser is
// closed by its reader.
const canQuit = false
