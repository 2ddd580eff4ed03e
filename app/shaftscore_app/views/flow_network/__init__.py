"""The flow as a network: drawn, pointed at and edited.

`places` says where everything is, `routes` how lines run, `ports` what can be joined, `paths` where keys
lead: none of them knows Qt. The face that the Flow view shows is `face.NetworkFace`.
"""
