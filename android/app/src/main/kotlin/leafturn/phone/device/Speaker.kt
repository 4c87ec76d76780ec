package leafturn.phone.device

import android.content.Context
import android.speech.tts.TextToSpeech
import java.util.Locale

/** Says each act aloud while the eye is at the lens, where the phone can speak; a later word cuts an earlier one short. */
fun interface Speaker {
    fun say(text: String)
}

class SystemSpeaker(context: Context, private val language: () -> String) : Speaker {
    private var ready = false
    private val speech = TextToSpeech(context) { status -> ready = status == TextToSpeech.SUCCESS }

    override fun say(text: String) {
        if (!ready) return
        speech.language = Locale.forLanguageTag(language())
        speech.speak(text, TextToSpeech.QUEUE_FLUSH, null, text)
    }

    fun release() = speech.shutdown()
}
