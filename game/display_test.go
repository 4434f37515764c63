package game

import _ "slowneedle/game/display" // says in one sentence that these tests need a display
