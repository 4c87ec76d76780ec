package androidx.test.runner.intent

import android.app.Instrumentation.ActivityResult
import android.content.Intent

fun interface IntentCallback {
    fun onIntentSent(intent: Intent)
}

interface IntentMonitor {
    fun addIntentCallback(callback: IntentCallback)

    fun removeIntentCallback(callback: IntentCallback)
}

object IntentMonitorRegistry {
    private var registered: IntentMonitor? = null

    @JvmStatic
    fun registerInstance(monitor: IntentMonitor) {
        registered = monitor
    }

    @JvmStatic
    fun getInstance(): IntentMonitor = checkNotNull(registered)
}

fun interface IntentStubber {
    fun getActivityResultForIntent(intent: Intent): ActivityResult?
}

object IntentStubberRegistry {
    private var loaded: IntentStubber? = null

    @JvmStatic
    fun load(stubber: IntentStubber) {
        loaded = stubber
    }

    @JvmStatic
    fun isLoaded(): Boolean = loaded != null

    @JvmStatic
    fun getInstance(): IntentStubber = checkNotNull(loaded)

    @JvmStatic
    fun reset() {
        loaded = null
    }
}
