package androidx.test.runner.lifecycle

import android.app.Activity
import android.app.Application

enum class Stage { PRE_ON_CREATE, CREATED, STARTED, RESUMED, PAUSED, STOPPED, RESTARTED, DESTROYED }

enum class ApplicationStage { PRE_ON_CREATE, CREATED }

fun interface ActivityLifecycleCallback {
    fun onActivityLifecycleChanged(activity: Activity, stage: Stage)
}

interface ActivityLifecycleMonitor {
    fun addLifecycleCallback(callback: ActivityLifecycleCallback)

    fun removeLifecycleCallback(callback: ActivityLifecycleCallback)

    fun getLifecycleStageOf(activity: Activity): Stage

    fun getActivitiesInStage(stage: Stage): Collection<Activity>
}

object ActivityLifecycleMonitorRegistry {
    private var registered: ActivityLifecycleMonitor? = null

    @JvmStatic
    fun registerInstance(monitor: ActivityLifecycleMonitor) {
        registered = monitor
    }

    @JvmStatic
    fun getInstance(): ActivityLifecycleMonitor = checkNotNull(registered)
}

fun interface ApplicationLifecycleCallback {
    fun onApplicationLifecycleChanged(app: Application, stage: ApplicationStage)
}

interface ApplicationLifecycleMonitor {
    fun addLifecycleCallback(callback: ApplicationLifecycleCallback)

    fun removeLifecycleCallback(callback: ApplicationLifecycleCallback)
}

object ApplicationLifecycleMonitorRegistry {
    private var registered: ApplicationLifecycleMonitor? = null

    @JvmStatic
    fun registerInstance(monitor: ApplicationLifecycleMonitor) {
        registered = monitor
    }

    @JvmStatic
    fun getInstance(): ApplicationLifecycleMonitor = checkNotNull(registered)
}
