// The build for a phone. Not exercised where the project's tests run: there neither the Android Gradle plugin nor an SDK
// can be had. The host build (pom.xml) compiles and tests the same sources.
pluginManagement {
    repositories {
        google()
        mavenCentral()
        gradlePluginPortal()
    }
}
dependencyResolutionManagement {
    repositories {
        google()
        mavenCentral()
    }
}
rootProject.name = "leafturn"
include(":app")
