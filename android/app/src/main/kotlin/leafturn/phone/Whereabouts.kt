package leafturn.phone

import android.Manifest.permission.ACCESS_FINE_LOCATION
import android.app.Activity
import android.content.pm.PackageManager
import android.location.Location
import android.location.LocationManager
import android.os.CancellationSignal

/** One fix of where the phone is, asked for when a person asks; a refusal leaves everything else working. */
class Whereabouts(private val activity: Activity) {
    fun ask(then: (Location?) -> Unit) {
        if (activity.checkSelfPermission(ACCESS_FINE_LOCATION) != PackageManager.PERMISSION_GRANTED) {
            activity.requestPermissions(arrayOf(ACCESS_FINE_LOCATION), REQUEST)
            then(null)
            return
        }
        val manager = activity.getSystemService(LocationManager::class.java)
        if (manager == null || !manager.isProviderEnabled(LocationManager.GPS_PROVIDER)) return then(null)
        if (android.os.Build.VERSION.SDK_INT >= 30) {
            manager.getCurrentLocation(LocationManager.GPS_PROVIDER, CancellationSignal(), activity.mainExecutor) { then(it) }
        } else {
            then(manager.getLastKnownLocation(LocationManager.GPS_PROVIDER))
        }
    }

    private companion object {
        const val REQUEST = 1
    }
}
