package androidx.test.platform.app

import android.app.Instrumentation
import android.os.Bundle

/** Where Robolectric leaves its instrumentation. */
object InstrumentationRegistry {
    private var instrumentation: Instrumentation? = null
    private var arguments = Bundle()

    @JvmStatic
    fun registerInstance(instance: Instrumentation?, given: Bundle?) {
        instrumentation = instance
        arguments = Bundle(given ?: Bundle())
    }

    @JvmStatic
    fun getInstrumentation(): Instrumentation = checkNotNull(instrumentation)

    @JvmStatic
    fun getArguments(): Bundle = Bundle(arguments)
}
