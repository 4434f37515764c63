package class

import _ "slowneedle/game/display/checked" // says in one sentence that these tests need a display
