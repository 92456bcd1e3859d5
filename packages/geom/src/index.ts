export { type AlignOptions, alignScan } from './align/align-scan.js';
export { type Alignment, AlignmentError, type Move, type Rival } from './align/alignment.js';
export type { NearPair } from './align/hint.js';
export { motionOfPairs } from './align/kabsch.js';
export { type KeptReference, keepReference, scanOfReference } from './align/kept-reference.js';
export type { WeaklyHeld } from './align/move-uncertainty.js';
export { acuteAngle } from './construct/alignment.js';
export { angleOf } from './construct/angle.js';
export type { Constructed } from './construct/constructed.js';
export * from './construct/distance.js';
export {
  intersect,
  intersectLinePlane,
  intersectLines,
  intersectPlanes,
  intersectThreePlanes,
} from './construct/intersect.js';
export { midplane } from './construct/midplane.js';
export { offsetPlane } from './construct/offset.js';
export { project, projectOnLine, projectOnPlane } from './construct/project.js';
export {
  certain,
  derive,
  type Estimate,
  propagate,
  rootOf,
  type Uncertain,
  uncertaintyOf,
} from './construct/propagate.js';
export { lineThrough, midpoint, planeThrough } from './construct/through.js';
export { FettleError, type Warning } from './error.js';
export type * from './feature/feature.js';
export { axisOf, centerOf, directionOf, planeOf } from './feature/roles.js';
export { growthOf, withScaleError } from './feature/scale-error.js';
export { type Base, moved, moveOf } from './feature/small-moves.js';
export type { NumberUncertainty, ScaleError, ScannerAccuracy, Uncertainty } from './feature/uncertainty.js';
export { fitShape, type ShapeKind, type ShapeOptions } from './fit/by-kind/fit-shape.js';
export {
  type ShapeCandidate,
  type ShapeSuggestion,
  type SurfaceKind,
  suggestShape,
} from './fit/by-kind/suggest-shape.js';
export type { Association, CriterionOptions } from './fit/extremes/association.js';
export { minimumZoneCircle } from './fit/extremes/circle.js';
export { minimumCircumscribedCircle } from './fit/extremes/circumscribed-circle.js';
export {
  maximumInscribedCylinder,
  minimumCircumscribedCylinder,
  minimumZoneCylinder,
} from './fit/extremes/cylinder.js';
export { maximumInscribedCircle } from './fit/extremes/inscribed-circle.js';
export { type LineCriterionOptions, minimumZoneLine } from './fit/extremes/line.js';
export { minimumZonePlane } from './fit/extremes/plane.js';
export { minimumZoneSphere } from './fit/extremes/sphere.js';
export type * from './fit/fit.js';
export type { Contact, Optimality } from './fit/fit.js';
export { type EllipseOptions, fitEllipse, type HoleTilt, holeTilt } from './fit/planar/ellipse.js';
export { fitSlot, type SlotOptions } from './fit/planar/slot.js';
export { type CircleOptions, fitCircle } from './fit/shapes/circle.js';
export { type ConeOptions, fitCone } from './fit/shapes/cone.js';
export { type CylinderOptions, fitCylinder } from './fit/shapes/cylinder.js';
export { cylindricity, type Form, type FormOptions, flatness, roundness, straightness } from './fit/shapes/form.js';
export { fitLine, type LineOptions } from './fit/shapes/line.js';
export { fitPlane, type PlaneOptions } from './fit/shapes/plane.js';
export { fitSphere, type SphereOptions } from './fit/shapes/sphere.js';
export type { FitForUncertainty } from './fit/uncertainty/correlated-noise/fit-for-uncertainty.js';
export * from './fit/uncertainty/expanded.js';
export { fitUncertainty } from './fit/uncertainty/uncertainty.js';
export * from './frame/datum-frame.js';
export type { Frame } from './math/frame.js';
export { frameOf, scanFrame } from './math/frame.js';
export { nonNegativeLeastSquares } from './math/non-negative-least-squares.js';
export { type Random, seededRandom } from './math/random.js';
export type { Vec2 } from './math/vec2.js';
export type { Vec3 } from './math/vec3.js';
export * as vec3 from './math/vec3.js';
export { noiseInWords } from './noise/in-words.js';
export type { NoiseKernel } from './noise/kernels.js';
export { scanNoise } from './noise/measure-scan.js';
export type * from './noise/scan-noise.js';
export * from './plan/index.js';
export { type CropOptions, type CropShape, crop, type HalfSpace } from './prepare/crop.js';
export { type Deviation, deviation, deviationInWords, type Spread } from './prepare/deviation.js';
export { dropPieces, type PieceLimits, type PiecesDropped } from './prepare/drop-pieces.js';
export { dropStrays, type StrayOptions, type StraysDropped } from './prepare/drop-strays.js';
export { dropDuplicateTriangles } from './prepare/duplicate-triangles.js';
export { type KnownLength, type LengthCheck, lengthCheckInWords, scaleByKnownLength } from './prepare/known-length.js';
export { gone, type Prepared, removedInWords } from './prepare/prepared.js';
export { regionAfter, removedPart, restore } from './prepare/restore.js';
export { type Simplified, type SimplifyOptions, simplifiedInWords, simplify } from './prepare/simplify.js';
export { dropSlivers, type SliverOptions } from './prepare/slivers.js';
export { type ThinOptions, thin } from './prepare/thin.js';
export { type WeldOptions, weld } from './prepare/weld.js';
export { boxRegion } from './region/box.js';
export { brushRegion, type Stroke } from './region/brush.js';
export { regionIntersect, regionUnion, regionWithout } from './region/combine.js';
export type { Choice } from './region/empty.js';
export { regionArea, regionSpread } from './region/extent.js';
export { type GrowOptions, growRegion, growthFrom } from './region/growing/grow.js';
export { type Grown, type GrownRegion, grownRegion } from './region/growing/grown.js';
export type { Growth, GrowthEnd, GrowthEnds, SeedNormal } from './region/growing/growth.js';
export { indexRegion } from './region/index-region.js';
export { type Outline, outlineRegion } from './region/outline.js';
export { type Ball, sphereRegion } from './region/sphere.js';
export { type BoltCircle, type BoltCircleOptions, boltCircle } from './relate/bolt-circle.js';
export { coplanarity, type FaceStep, faceStep } from './relate/faces.js';
export type { Deciding } from './relate/holding.js';
export { type HoleGrid, holeGrid } from './relate/hole-grid.js';
export type { MissingHole, PlacedHole } from './relate/hole-place.js';
export { type HolePatternOptions, type HoleRow, holeRow } from './relate/hole-row.js';
export { coaxiality, type Nominal, position, symmetry } from './relate/location.js';
export { parallelism, perpendicularity } from './relate/orientation.js';
export { type Toleranced, tolerancedOf } from './relate/toleranced.js';
export type { Datum, Zone, ZoneOptions } from './relate/zone.js';
export { type PointTriangles, pointTriangles } from './scan/adjacency.js';
export { bounds, boundsCenter, boundsDiagonal } from './scan/bounds.js';
export { type CloudNormalOptions, cloudNormals } from './scan/cloud-normals.js';
export { cloudPieces } from './scan/cloud-pieces.js';
export { createScan, type ScanParts } from './scan/create.js';
export { type CurvatureOptions, type Curvatures, curvatures } from './scan/curvatures.js';
export { boundaryEdges, type Hole, holes } from './scan/holes.js';
export { type LengthUnit, lengthUnits, millimetersIn } from './scan/length-unit.js';
export { memoryOfIndex, type PackedIndex, packIndex, unpackIndex } from './scan/packed-index.js';
export { noPiece, type Piece, type Pieces, pieces } from './scan/pieces.js';
export type { Found, SpatialIndex } from './scan/place-questions.js';
export { type PointIndex, pointIndex } from './scan/point-index.js';
export type { Bounds, Mesh, Points, Scan } from './scan/scan.js';
export { pointSpacing } from './scan/spacing.js';
export { spatialIndex } from './scan/spatial-index.js';
export { transformScan } from './scan/transform.js';
export { vertexNormals } from './scan/vertex-normals.js';
export { type CutOptions, cutMesh } from './section/cut/cut.js';
export { polylineArea, polylineLength, sectionArea, sectionLength } from './section/measure.js';
export type { HandPiece } from './section/outline/by-hand.js';
export { type Constrained, constrain } from './section/outline/constrain.js';
export type { Constraint } from './section/outline/constraint.js';
export type { Join } from './section/outline/join.js';
export { type ProfileMeasure, profileMeasures } from './section/outline/measures.js';
export { type Offer, offers } from './section/outline/offers.js';
export type { Profile, ProfileArc, ProfileLine, ProfilePiece } from './section/outline/pieces.js';
export { type ProfileOptions, profileOf } from './section/outline/profile.js';
export { withScanNoise } from './section/outline/scan-noise.js';
export type { FlatShape } from './section/outline/shape.js';
export { unbentArcs } from './section/outline/unbent.js';
export type { Polyline, Section } from './section/section.js';
export { fitStretch, type StretchFit, type StretchOptions } from './section/stretch/fit-stretch.js';
export {
  type Stretch,
  type StretchBetween,
  type StretchInBox,
  type StretchPoints,
  type StretchWithin,
  stretchPoints,
} from './section/stretch/stretch.js';
export { type Counterbore, counterbore } from './sizes/counterbore.js';
export { type ClearanceMatch, type HoleAdvice, holeAdvice } from './sizes/hole-advice.js';
export { fitInWords, holeAdviceInWords, limitsInWords, sizeInClassInWords } from './sizes/in-words.js';
export { type ClearanceHole, type ClearanceSeries, clearanceHole, clearanceHoles } from './sizes/iso-273.js';
export { type FitLimits, fitOf, limitsOf, type SizeLimits, type Span } from './sizes/iso-286.js';
export { type MetricThread, metricThread, metricThreads, tapDrill } from './sizes/iso-metric-threads.js';
export { type SizeInClass, sizeInClass } from './sizes/size-in-class.js';
export type { InBothUnits } from './sizes/thousandths.js';
export { version } from './version.js';
