package leafturn.phone.lead

import leafturn.core.CountingScreen
import leafturn.core.KeyBeginning
import leafturn.core.KeyScreen
import leafturn.core.KeyStartScreen
import leafturn.core.Leafturn
import leafturn.core.PracticeMarks
import leafturn.core.PracticeScreen
import leafturn.phone.MainActivity
import leafturn.phone.Place
import leafturn.phone.device.Feel
import leafturn.phone.look.Drafts
import leafturn.phone.screens.KeyActs
import leafturn.phone.screens.KeyStartActs
import leafturn.phone.screens.PRACTICE_HIGH
import leafturn.phone.screens.PRACTICE_WIDE
import leafturn.phone.screens.keyScreen
import leafturn.phone.screens.keyStartScreen
import leafturn.phone.screens.practiceMarkedScreen
import leafturn.phone.screens.practiceScreen

/** Telling stages apart: the key beside a plant, and practice at home. */
class KeyLead(private val home: MainActivity) {
    private var practisedSince = 0L

    fun start() = home.ask({ it.keyStart() }, ::show)

    fun key() = home.ask({ it.key() }, ::show)

    fun practice() = home.ask({ it.practice() }, ::show)

    private fun show(start: KeyStartScreen) {
        val chosen = home.typed("key-means").ifEmpty { start.means.filter { it.chosen }.joinToString(" ") { it.name } }
        val means = chosen.split(' ').filter { it.isNotEmpty() }.toSet()
        home.show(
            keyStartScreen(
                home.look, start, home.pictures,
                object : KeyStartActs {
                    override fun means() = means

                    override fun toggleMeans(name: String) {
                        home.type("key-means", (if (name in means) means - name else means + name).joinToString(" "))
                        show(start)
                    }

                    override fun begin(guess: String?) = step { it.beginKey(KeyBeginning(means.toList(), guess)) }

                    override fun goOn() = home.go(Place.Key)
                },
            ),
        )
    }

    /** A step of the key: whatever was half chosen is let go. */
    private fun step(work: (Leafturn) -> KeyScreen) = home.ask(work) { now ->
        listOf("key-unsure", "key-number").forEach { home.type(it, "") }
        home.arrive(Place.Key)
        show(now)
    }

    private fun show(now: KeyScreen) = home.show(keyScreen(home.look, now, home.pictures, ActsOf(now)))

    private inner class ActsOf(private val now: KeyScreen) : KeyActs, Drafts by home {
        override fun unsure() = home.typed("key-unsure").takeIf { it.isNotEmpty() }?.split('\n')?.filter { it.isNotEmpty() }?.toSet()

        override fun beUnsure() = mark(setOf())

        override fun toggle(answer: String) {
            val marked = unsure().orEmpty()
            mark(if (answer in marked) marked - answer else marked + answer)
        }

        override fun answer(character: String, answers: List<String>) = step { it.answerKey(character, answers) }

        override fun couldNotLook(character: String) = step { it.skipQuestion(character) }

        override fun again(character: String) = step { it.askAgain(character) }

        override fun measure(character: String) = home.go(Place.Measure(character))

        override fun beyondGuess() = step { it.askBeyondGuess() }

        override fun put() = back { it.countFromKey() }

        override fun leave() = home.go(Place.Counting)

        /** A line break before the first: marking has begun though nothing is marked. */
        private fun mark(marked: Set<String>) {
            home.type("key-unsure", "\n" + marked.joinToString("\n"))
            show(now)
        }
    }

    private fun back(work: (Leafturn) -> CountingScreen) = home.ask(work) {
        home.haptics.feel(Feel.COUNTED)
        home.go(Place.Counting)
    }

    private fun show(now: PracticeScreen) {
        practisedSince = android.os.SystemClock.elapsedRealtime()
        val picture = home.picture(PRACTICE_WIDE, PRACTICE_HIGH) { it.practiceDrawing(PRACTICE_WIDE.toUInt(), PRACTICE_HIGH.toUInt()) }
        home.show(
            practiceScreen(home.look, now, picture) { choice ->
                val tookMs = (android.os.SystemClock.elapsedRealtime() - practisedSince).toUInt()
                home.ask({ it.answerPractice(now.item, choice, tookMs) }, ::show)
            },
        )
    }

    private fun show(marks: PracticeMarks) {
        val picture = home.picture(PRACTICE_WIDE, PRACTICE_HIGH) { it.practiceExplained(PRACTICE_WIDE.toUInt(), PRACTICE_HIGH.toUInt()) }
        home.haptics.feel(if (marks.right) Feel.COUNTED else Feel.TAKEN_BACK)
        home.show(practiceMarkedScreen(home.look, marks, picture) { show(marks.next) })
    }
}
