package androidx.test.internal.runner.lifecycle

import android.app.Activity
import android.app.Application
import androidx.test.runner.lifecycle.ActivityLifecycleCallback
import androidx.test.runner.lifecycle.ActivityLifecycleMonitor
import androidx.test.runner.lifecycle.ApplicationLifecycleCallback
import androidx.test.runner.lifecycle.ApplicationLifecycleMonitor
import androidx.test.runner.lifecycle.ApplicationStage
import androidx.test.runner.lifecycle.Stage
import java.util.WeakHashMap

class ActivityLifecycleMonitorImpl : ActivityLifecycleMonitor {
    private val callbacks = linkedSetOf<ActivityLifecycleCallback>()
    private val stages = WeakHashMap<Activity, Stage>()

    override fun addLifecycleCallback(callback: ActivityLifecycleCallback) {
        callbacks += callback
    }

    override fun removeLifecycleCallback(callback: ActivityLifecycleCallback) {
        callbacks -= callback
    }

    override fun getLifecycleStageOf(activity: Activity): Stage = stages.getValue(activity)

    override fun getActivitiesInStage(stage: Stage): Collection<Activity> = stages.filterValues { it == stage }.keys

    fun signalLifecycleChange(stage: Stage, activity: Activity) {
        stages[activity] = stage
        callbacks.toList().forEach { it.onActivityLifecycleChanged(activity, stage) }
    }
}

class ApplicationLifecycleMonitorImpl : ApplicationLifecycleMonitor {
    private val callbacks = linkedSetOf<ApplicationLifecycleCallback>()

    override fun addLifecycleCallback(callback: ApplicationLifecycleCallback) {
        callbacks += callback
    }

    override fun removeLifecycleCallback(callback: ApplicationLifecycleCallback) {
        callbacks -= callback
    }

    fun signalLifecycleChange(app: Application, stage: ApplicationStage) =
        callbacks.toList().forEach { it.onApplicationLifecycleChanged(app, stage) }
}
